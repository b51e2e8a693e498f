//! What stands twice.

use std::collections::HashMap;

/// For each item whose key stood before: its index and that of the first one.
pub(super) fn repeated<K: std::hash::Hash + Eq>(
    keys: impl Iterator<Item = K>,
) -> Vec<(usize, usize)> {
    let mut first = HashMap::with_capacity(keys.size_hint().0);
    keys.enumerate()
        .filter_map(|(i, key)| {
            let j = *first.entry(key).or_insert(i);
            (i != j).then_some((i, j))
        })
        .collect()
}
