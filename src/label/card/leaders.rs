//! Where labels beside a drawing stand: each as near as can be to what it names, none on another.

/// The upper ends of labels, given from the top, that should each have its middle where it points.
///
/// * `wanted`: middle and height of each, the middles in order.
/// * `gap`: least room between two.
/// * `within`: where the room for labels begins and ends.
/// * Result: none if there is no room for all.
pub(super) fn spread(wanted: &[(i64, i64)], gap: i64, within: (i64, i64)) -> Option<Vec<i64>> {
    let heights: i64 = wanted.iter().map(|(_, height)| height).sum();
    let gaps = gap * i64::try_from(wanted.len()).unwrap_or_default().saturating_sub(1).max(0);
    if heights + gaps > within.1 - within.0 {
        return None;
    }
    let mut tops = Vec::with_capacity(wanted.len());
    let mut free = within.0;
    for (middle, height) in wanted {
        let top = (middle - height / 2).max(free);
        tops.push(top);
        free = top + height + gap;
    }
    // What was pushed out below is pushed up again, and with it what stands in its way.
    let mut end = within.1;
    for (top, (_, height)) in tops.iter_mut().zip(wanted).rev() {
        *top = (*top).min(end - height);
        end = *top - gap;
    }
    Some(tops)
}

#[cfg(test)]
mod tests {
    use super::spread;

    #[test]
    fn labels_stay_in_order_and_apart() {
        assert_eq!(spread(&[(10, 4), (50, 4)], 2, (0, 100)), Some(vec![8, 48]));
        assert_eq!(spread(&[(10, 4), (11, 4), (12, 4)], 2, (0, 100)), Some(vec![8, 14, 20]));
        assert_eq!(spread(&[(98, 10), (99, 10)], 2, (0, 100)), Some(vec![78, 90]));
        assert_eq!(spread(&[(1, 10), (2, 10)], 2, (0, 21)), None);
    }
}
