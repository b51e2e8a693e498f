//! Positions that can't lie on one plate are shared out over as few as will do: the colours of a graph.
//!
//! The next position to be given a plate is the one whose neighbours are on most of them already (Brélaz, "New methods to
//! color the vertices of a graph", 1979); all ways are tried, with what can't be better left out, until a clique says that
//! fewer won't do.

/// Choices that are tried at most: a second or so.
const MOST_TRIED: usize = 20_000;

/// For each position its plate, counted from 0 in the order of the positions, and whether fewer plates won't do for sure.
/// `against[i]`: the positions that can't be on one plate with `i`.
pub(super) fn shared_out(against: &[Vec<usize>]) -> (Vec<usize>, bool) {
    let least = clique(against);
    let mut search = Search {
        against,
        plates: vec![None; against.len()],
        best: (0..against.len()).collect(),
        fewest: against.len() + 1,
        least,
        tried: 0,
    };
    search.go_on(0);
    let proven = search.tried < MOST_TRIED || search.fewest <= least;
    (in_order(search.best), proven)
}

/// How many positions of which each is against each other were found: greedy, from each position.
fn clique(against: &[Vec<usize>]) -> usize {
    let from = |first: usize| {
        let mut members = vec![first];
        for &next in &against[first] {
            if members.iter().all(|m| against[*m].contains(&next)) {
                members.push(next);
            }
        }
        members.len()
    };
    (0..against.len()).map(from).max().unwrap_or(0)
}

struct Search<'a> {
    against: &'a [Vec<usize>],
    plates: Vec<Option<usize>>,
    best: Vec<usize>,
    fewest: usize,
    least: usize,
    tried: usize,
}

impl Search<'_> {
    /// Gives the next position a plate, `used` being in use.
    fn go_on(&mut self, used: usize) {
        if used >= self.fewest || self.fewest <= self.least || self.tried >= MOST_TRIED {
            return;
        }
        let Some(next) = self.next() else {
            self.fewest = used;
            self.best = self.plates.iter().map(|p| p.unwrap_or(0)).collect();
            return;
        };
        let taken = self.taken(next);
        // one new plate at most: which of the empty ones it is makes no difference
        for plate in 0..(used + 1).min(self.fewest.saturating_sub(1)) {
            if taken.contains(&plate) {
                continue;
            }
            self.tried += 1;
            self.plates[next] = Some(plate);
            self.go_on(used.max(plate + 1));
            self.plates[next] = None;
        }
    }

    /// On which plates the neighbours of a position are.
    fn taken(&self, position: usize) -> Vec<usize> {
        let mut taken: Vec<usize> = (self.against[position].iter())
            .filter_map(|n| self.plates[*n])
            .collect();
        taken.sort_unstable();
        taken.dedup();
        taken
    }

    /// The position without a plate with the least choice; among equals the one with most neighbours, then the first.
    fn next(&self) -> Option<usize> {
        (0..self.plates.len())
            .filter(|i| self.plates[*i].is_none())
            .max_by_key(|&i| {
                let neighbours = self.against[i].len();
                (self.taken(i).len(), neighbours, usize::MAX - i)
            })
    }
}

/// The same plates, numbered as they come up.
fn in_order(plates: Vec<usize>) -> Vec<usize> {
    let mut seen: Vec<usize> = Vec::new();
    plates
        .into_iter()
        .map(|plate| {
            seen.iter().position(|s| *s == plate).unwrap_or_else(|| {
                seen.push(plate);
                seen.len() - 1
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn graph(n: usize, pairs: impl IntoIterator<Item = (usize, usize)>) -> Vec<Vec<usize>> {
        let mut against = vec![Vec::new(); n];
        for (a, b) in pairs {
            against[a].push(b);
            against[b].push(a);
        }
        against
    }

    fn is_sound(against: &[Vec<usize>], plates: &[usize]) -> bool {
        (0..against.len()).all(|i| against[i].iter().all(|n| plates[i] != plates[*n]))
    }

    fn plates(against: &[Vec<usize>]) -> usize {
        let (plates, proven) = shared_out(against);
        assert!(proven && is_sound(against, &plates), "{plates:?}");
        plates.iter().max().map_or(0, |p| p + 1)
    }

    /// Chromatic numbers of well-known graphs: cycles (2 or 3), complete graphs (n), the Petersen graph (3), the graph of
    /// Mycielski and Grötzsch (4, without a triangle): textbook values, such as Diestel, Graph Theory, chapter 5.
    #[test]
    fn as_few_plates_as_are_known_to_do() {
        let cycle = |n: usize| graph(n, (0..n).map(|i| (i, (i + 1) % n)));
        assert_eq!([plates(&cycle(8)), plates(&cycle(9))], [2, 3]);
        let complete = graph(6, (0..6).flat_map(|a| (a + 1..6).map(move |b| (a, b))));
        assert_eq!(plates(&complete), 6);
        let petersen =
            (0..5).flat_map(|i| [(i, (i + 1) % 5), (i, i + 5), (i + 5, (i + 2) % 5 + 5)]);
        assert_eq!(plates(&graph(10, petersen)), 3);
        let groetzsch = (0..5).flat_map(|i| {
            let next = (i + 1) % 5;
            [(i, next), (i + 5, next), (i + 5, (i + 4) % 5), (i + 5, 10)]
        });
        assert_eq!(plates(&graph(11, groetzsch)), 4);
        assert_eq!(plates(&graph(3, [])), 1);
        assert_eq!(shared_out(&[]), (vec![], true));
    }

    #[test]
    fn plates_are_numbered_as_they_come_up_and_the_same_every_time() {
        let against = graph(5, [(0, 1), (1, 2), (2, 3), (3, 4)]);
        let (plates, _) = shared_out(&against);
        assert_eq!(plates, [0, 1, 0, 1, 0]);
        assert_eq!(shared_out(&against), shared_out(&against));
    }
}
