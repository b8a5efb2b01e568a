//! The inside of a cup as a cone cut off: heights, diameters and volumes of each other.

use crate::units::{Length, Volume};

/// The inside of a cup: round, with straight walls.
#[derive(Clone, Copy, Debug)]
pub struct Cone {
    /// Diameter at the floor, in millimetres.
    floor: f64,
    /// Growth of the diameter with the height.
    growth: f64,
    /// Volume to the edge, in cubic millimetres.
    brim: f64,
}

/// Higher than any cup, in micrometres.
const HIGHEST: i64 = 4_000_000;

impl Cone {
    /// A cup that holds `volume` up to where its diameter is `at_line`.
    ///
    /// * `floor`: diameter at the floor.
    /// * `brim`: volume to the edge.
    ///
    /// A cone cut off with diameters d and D holds π ÷ 12 · h · (d² + d·D + D²), which gives h.
    pub fn new(floor: Length, at_line: Length, volume: Volume, brim: Volume) -> Self {
        let (floor, line) = (floor.mm(), at_line.mm());
        let area = std::f64::consts::PI / 12.0 * (floor * floor + floor * line + line * line);
        // A microlitre is a cubic millimetre.
        let height = volume.ml() * 1_000.0 / area;
        Self { floor, growth: (line - floor) / height, brim: brim.ml() * 1_000.0 }
    }

    /// Diameter at a height above the floor; both in micrometres.
    pub fn diameter_at(&self, height: i64) -> i64 {
        whole((self.floor + self.growth * mm(height)) * 1_000.0)
    }

    /// Volume up to a height in micrometres.
    pub fn volume_to(&self, height: i64) -> Volume {
        Volume::from_ml(self.cubic_mm(height) / 1_000.0)
    }

    /// The height in micrometres up to which a volume reaches.
    ///
    /// Found by halving, since a cube root is not the same to the last bit on every machine.
    pub fn height_of(&self, volume: Volume) -> i64 {
        let wanted = volume.ml() * 1_000.0;
        let (mut low, mut high) = (0, HIGHEST);
        while high - low > 1 {
            let middle = i64::midpoint(low, high);
            if self.cubic_mm(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// Height of the edge in micrometres.
    pub fn brim(&self) -> i64 {
        self.height_of(Volume::from_ml(self.brim / 1_000.0))
    }

    fn cubic_mm(&self, height: i64) -> f64 {
        let (d, h) = (self.floor, mm(height));
        let there = d + self.growth * h;
        std::f64::consts::PI / 12.0 * h * (d * d + d * there + there * there)
    }
}

#[expect(clippy::cast_precision_loss, reason = "heights of cups are far below 2^52 µm")]
fn mm(um: i64) -> f64 {
    um as f64 / 1_000.0
}

#[expect(clippy::cast_possible_truncation, reason = "diameters of cups are a few metres at most")]
fn whole(um: f64) -> i64 {
    um.round() as i64
}

#[cfg(test)]
mod tests {
    use super::Cone;
    use crate::units::{Length, Volume};

    /// Euclid, Elements XII, 10 and 18: a cone is a third of its cylinder; of a cone cut off at half
    /// its height seven eighths stand below.
    #[test]
    fn volumes_are_those_of_cones_and_cylinders() {
        let mm = Length::from_mm;
        let ml = Volume::from_ml;
        // 100 mm high, 40 mm wide: π · 20² · 100 mm³ = 125.66 mL.
        let upright = Cone::new(mm(40.0), mm(40.0), ml(125.664), ml(251.327));
        assert!((upright.height_of(ml(125.664)) - 100_000).abs() <= 2);
        assert!((upright.brim() - 200_000).abs() <= 2);
        assert_eq!(upright.diameter_at(77_000), 40_000);
        // From 20 mm to 40 mm over 60 mm: π ÷ 12 · 60 · 2800 = 43.98 mL.
        let cup = Cone::new(mm(20.0), mm(40.0), ml(43.982), ml(50.0));
        assert!((cup.height_of(ml(43.982)) - 60_000).abs() <= 5);
        assert!((cup.diameter_at(30_000) - 30_000).abs() <= 5);
        // Up to the middle: π ÷ 12 · 30 · (400 + 600 + 900) = 14.92 mL.
        assert!((cup.volume_to(30_000).ml() - 14.923).abs() < 0.01);
    }
}
