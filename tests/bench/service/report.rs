//! The table.

use crate::{
    Effort,
    batches::Batches,
    cold::Cold,
    loads::{DEPTH, What},
    memory::Memory,
    server::Kind,
    tickets::LONG,
    turns::Seen,
};

/// What came of several turns.
#[derive(Clone, Copy, Debug)]
struct Figure {
    least: f64,
    median: f64,
    most: f64,
}

impl Figure {
    fn of(values: impl IntoIterator<Item = f64>) -> Self {
        let mut values: Vec<f64> = values.into_iter().collect();
        values.sort_by(f64::total_cmp);
        let at = |n: usize| values.get(n).copied().unwrap_or(f64::NAN);
        Self { least: at(0), median: at(values.len() / 2), most: at(values.len().wrapping_sub(1)) }
    }

    fn shown(self, unit: &str) -> String {
        let places = if self.median < 10.0 { 2 } else { 1 };
        let Self { least, median, most } = self;
        format!("{median:.places$}{unit} ({least:.places$} to {most:.places$})")
    }
}

/// Ratios turn by turn: what stands in the same turn saw the same neighbours.
fn ratios(above: &[f64], below: &[f64]) -> Figure {
    Figure::of(above.iter().zip(below).map(|(a, b)| a / b))
}

/// Whether a ratio is to be small or large.
enum Target {
    AtMost(f64),
    AtLeast(f64),
    None,
}

impl Target {
    fn shown(&self, reached: f64) -> String {
        let (sign, bound, kept) = match self {
            Self::AtMost(bound) => ("≤", bound, reached <= *bound),
            Self::AtLeast(bound) => ("≥", bound, reached >= *bound),
            Self::None => return "–".to_owned(),
        };
        format!("{sign} {bound}{}", if kept { "" } else { " (missed)" })
    }
}

struct Table<'a> {
    seen: &'a [Seen],
    text: String,
}

impl Table<'_> {
    fn micros(&self, kind: Kind, what: What) -> &[f64] {
        let found = self.seen.iter().find(|row| row.kind == kind && row.what == what);
        &found.expect("it was measured").micros
    }

    fn row(&mut self, what: &str, seen: &str, ratio: &str, target: &str) {
        self.text += &["| ", what, " | ", seen, " | ", ratio, " | ", target, " |\n"].concat();
    }

    /// A server under a load, beside bare actix-web.
    fn load(&mut self, name: &str, kind: Kind, what: What, target: &Target) {
        let own = Figure::of(self.micros(kind, what).iter().copied());
        let beside = ratios(self.micros(kind, what), self.micros(Kind::Bare, What::Repeated));
        let name = format!("{}{name}", kind.name());
        self.row(&name, &own.shown(" µs"), &beside.shown(""), &target.shown(beside.median));
    }

    fn loads(&mut self) {
        use Kind::{Bare, Fastify, NginxFile, NginxReturn, Ours};
        use What::{Distinct, Long, Repeated, Single};
        self.load(", constant", Bare, Repeated, &Target::None);
        self.load("", NginxReturn, Repeated, &Target::None);
        self.load(" (GET)", NginxFile, Repeated, &Target::None);
        self.load(", two lines, repeating", Fastify, Repeated, &Target::None);
        self.load(", two lines, never repeating", Fastify, Distinct, &Target::None);
        self.load(", two lines, repeating", Ours, Repeated, &Target::AtMost(1.4));
        self.load(", two lines, never repeating", Ours, Distinct, &Target::AtMost(2.5));
        self.load(", one line, repeating", Ours, Single, &Target::None);
        self.load(&format!(", {LONG} lines, repeating"), Ours, Long, &Target::None);
    }

    fn derived(&mut self) {
        let single = self.micros(Kind::Ours, What::Single);
        let long = self.micros(Kind::Ours, What::Long);
        let more = f64::from(u32::try_from(LONG - 1).expect("a small number"));
        let each: Vec<f64> =
            long.iter().zip(single).map(|(long, one)| (long - one) / more).collect();
        let beside = ratios(&each, self.micros(Kind::Bare, What::Repeated));
        let target = Target::AtMost(0.2).shown(beside.median);
        let each = Figure::of(each).shown(" µs");
        self.row(
            &format!("Cupwright, each further of {LONG} lines"),
            &each,
            &beside.shown(""),
            &target,
        );
        for (what, name) in [(What::Repeated, "repeating"), (What::Distinct, "never repeating")] {
            let times = ratios(self.micros(Kind::Fastify, what), self.micros(Kind::Ours, what));
            let target = Target::AtLeast(5.0).shown(times.median);
            let name = format!("Fastify ÷ Cupwright, two lines, {name}");
            self.row(&name, "–", &times.shown(""), &target);
        }
    }

    fn pipelined(&mut self, batches: &[Batches]) {
        for Batches { kind, millis } in batches {
            let own = Figure::of(self.micros(*kind, What::Pipelined).iter().copied());
            let waits = Figure::of(millis.iter().copied());
            let target = Target::AtMost(40.0).shown(waits.median);
            self.row(
                &format!("{}, {DEPTH} requests at once", kind.name()),
                &own.shown(" µs"),
                &format!("all answered in {}", waits.shown(" ms")),
                if *kind == Kind::Ours { &target } else { "–" },
            );
        }
    }

    fn memory(&mut self, memory: Memory) {
        let mib = |kib: u32| f64::from(kib) / 1024.0;
        let Memory { idle, after, most } = memory;
        let times = f64::from(most) / f64::from(idle);
        let name = format!("memory: most under tickets of {LONG} lines ÷ idle");
        let sizes =
            format!("{:.1} MiB idle, {:.1} after, {:.1} at most", mib(idle), mib(after), mib(most));
        self.row(&name, &sizes, &format!("{times:.2}"), &Target::AtMost(3.0).shown(times));
    }

    fn cold(&mut self, cold: &Cold) {
        let [ours, nginx] = [&cold.ours, &cold.nginx].map(|one| Figure::of(one.iter().copied()));
        let times = ours.median / nginx.median;
        let each = format!("{}, nginx {}", ours.shown(" ms"), nginx.shown(" ms"));
        let target = Target::AtMost(1.5).shown(times);
        self.row("start to first answer ÷ nginx's", &each, &format!("{times:.2}"), &target);
    }
}

/// Everything as one table: medians, and the least and the most of all turns in brackets.
pub(crate) fn table(
    seen: &[Seen],
    batches: &[Batches],
    memory: Memory,
    cold: &Cold,
    effort: Effort,
) -> String {
    let mut table = Table { seen, text: String::new() };
    if effort.quick {
        table.text +=
            "\nEvery answer was right. The figures below are of a trial and say nothing.\n";
    }
    table.text +=
        "\n| what | processor time of a request | ÷ bare actix-web, or as said | target |\n";
    table.text += "|---|---|---|---|\n";
    table.loads();
    table.derived();
    table.pipelined(batches);
    table.memory(memory);
    table.cold(cold);
    table.text
}
