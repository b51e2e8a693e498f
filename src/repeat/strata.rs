//! A table of positions (rows) and rounds (columns), and what contrasts between its rounds make of it.
//!
//! The space of rounds is divided in turn: their mean, what people differ in, what settings of the pallet differ in beside
//! that, the rest; each with an orthonormal basis (Gram and Schmidt). In each part a mean square is taken of what all positions
//! have in common and of what they have each for itself: sequential sums of squares, their expectations from the traces of the
//! projections (Searle, Casella & McCulloch 1992, ch. 5; from memory: held by published tables).

use super::interval::Square;

/// What a part of the rounds' space says.
#[derive(Debug, Clone, PartialEq)]
pub struct Stratum {
    /// How many contrasts it has.
    pub contrasts: usize,
    /// Of what positions have each for itself.
    pub by_place: Square,
    /// Of what all positions have in common, times their number.
    pub common: Square,
    /// How often the variance of people, and of settings, is in the expected mean square.
    pub holds: [f64; 2],
    basis: Vec<Vec<f64>>,
}

/// All parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Strata {
    /// Rows of the table.
    pub places: usize,
    /// What people (or days) differ in.
    pub people: Stratum,
    /// What settings of the pallet differ in beside that.
    pub settings: Stratum,
    /// What is left between rounds.
    pub rest: Stratum,
    /// All but people: settings and rest.
    pub within_people: Stratum,
    /// Mean of each column less that of all.
    pub columns: Vec<f64>,
    /// What is left of each row without its mean and those of the columns, as long as a row.
    left: Vec<Vec<f64>>,
}

impl Strata {
    /// Of a table, a row a position; who read each column, and with which setting of the pallet.
    pub fn of(table: &[Vec<f64>], people: &[usize], settings: &[usize]) -> Self {
        let rounds = people.len();
        let places = table.len();
        // centred first: of large numbers with small differences the squares would keep no digit
        let mut left: Vec<Vec<f64>> = table.to_vec();
        for row in &mut left {
            let first = row.first().copied().unwrap_or_default();
            row.iter_mut().for_each(|v| *v -= first);
            let mean = row.iter().sum::<f64>() / rounds as f64;
            row.iter_mut().for_each(|v| *v -= mean);
        }
        let columns: Vec<f64> = (0..rounds)
            .map(|c| left.iter().map(|row| row[c]).sum::<f64>() / places as f64)
            .collect();
        for row in &mut left {
            row.iter_mut().zip(&columns).for_each(|(v, c)| *v -= c);
        }
        let mut taken = vec![vec![1.0 / (rounds as f64).sqrt(); rounds]];
        let of_people = contrasts(indicators(people), &mut taken);
        let of_settings = contrasts(indicators(settings), &mut taken);
        let each = (0..rounds).map(|i| (0..rounds).map(|j| f64::from(u8::from(i == j))).collect());
        let of_rest = contrasts(each.collect(), &mut taken);
        let both = [of_settings.clone(), of_rest.clone()].concat();
        let stratum = |basis: Vec<Vec<f64>>| {
            let n = basis.len();
            let squares = |row: &[f64]| -> f64 { basis.iter().map(|u| dot(u, row).powi(2)).sum() };
            let square = |sum: f64, freedom: usize| Square {
                mean: if freedom > 0 {
                    sum / freedom as f64
                } else {
                    0.0
                },
                freedom: freedom as f64,
            };
            let by_place = left.iter().map(|row| squares(row)).sum();
            let holds = [people, settings].map(|of| {
                let members = indicators(of);
                let each = basis
                    .iter()
                    .flat_map(|u| members.iter().map(|m| dot(u, m).powi(2)));
                each.sum::<f64>() / n.max(1) as f64
            });
            Stratum {
                contrasts: n,
                by_place: square(by_place, n * places.saturating_sub(1)),
                common: square(places as f64 * squares(&columns), n),
                holds,
                basis,
            }
        };
        Self {
            places,
            people: stratum(of_people),
            settings: stratum(of_settings),
            rest: stratum(of_rest),
            within_people: stratum(both),
            columns,
            left,
        }
    }

    /// Variance of each position within a part, as it is where all have the same. `None` without contrasts.
    pub fn of_each(&self, stratum: &Stratum) -> Option<Vec<f64>> {
        let n = stratum.contrasts as f64 * (1.0 - 1.0 / self.places as f64);
        let squares = |row: &Vec<f64>| -> f64 {
            stratum
                .basis
                .iter()
                .map(|u| dot(u, row).powi(2))
                .sum::<f64>()
                / n
        };
        (n > 0.0).then(|| self.left.iter().map(squares).collect())
    }

    /// Variance of each position over all rounds, their common changes taken out. `None` of one round or position.
    pub fn of_all(&self) -> Option<Vec<f64>> {
        let rounds = self.columns.len() as f64;
        let n = (rounds - 1.0) * (1.0 - 1.0 / self.places as f64);
        let squares = |row: &Vec<f64>| dot(row, row) / n;
        (n > 0.0).then(|| self.left.iter().map(squares).collect())
    }
}

/// For each group a vector that is 1 at its members.
fn indicators(groups: &[usize]) -> Vec<Vec<f64>> {
    let count = groups.iter().max().map_or(0, |g| g + 1);
    (0..count)
        .map(|g| {
            groups
                .iter()
                .map(|&of| f64::from(u8::from(of == g)))
                .collect()
        })
        .collect()
}

/// Of vectors what is new beside those taken, orthonormal; they are taken too.
fn contrasts(vectors: Vec<Vec<f64>>, taken: &mut Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    const NOTHING: f64 = 1e-9;
    let from = taken.len();
    for mut v in vectors {
        // twice: once leaves rounding
        for _ in 0..2 {
            for t in taken.iter() {
                let along = dot(&v, t);
                v.iter_mut().zip(t).for_each(|(v, t)| *v -= along * t);
            }
        }
        let length = dot(&v, &v).sqrt();
        if length > NOTHING {
            v.iter_mut().for_each(|v| *v /= length);
            taken.push(v);
        }
    }
    taken[from..].to_vec()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrasts_share_out_what_rounds_differ_in() {
        // two people, two settings of the pallet each, two rounds on each
        let people = [0, 0, 0, 0, 1, 1, 1, 1];
        let settings = [0, 0, 1, 1, 2, 2, 3, 3];
        let table = vec![vec![0.0; 8]; 5];
        let strata = Strata::of(&table, &people, &settings);
        let parts = [&strata.people, &strata.settings, &strata.rest];
        assert_eq!(parts.map(|s| s.contrasts), [1, 2, 4]);
        // nested and balanced: four rounds a person, two a setting
        assert!((strata.people.holds[0] - 4.0).abs() < 1e-12);
        assert!((strata.people.holds[1] - 2.0).abs() < 1e-12);
        assert!((strata.settings.holds[1] - 2.0).abs() < 1e-12);
        assert!(strata.settings.holds[0].abs() < 1e-12);
        assert!(strata.rest.holds.iter().all(|h| h.abs() < 1e-12));
        // crossed: what settings differ in is not in what people differ in
        let settings = [0, 0, 1, 1, 0, 0, 1, 1];
        let strata = Strata::of(&table, &people, &settings);
        let parts = [&strata.people, &strata.settings, &strata.rest];
        assert_eq!(parts.map(|s| s.contrasts), [1, 1, 5]);
        assert!(strata.people.holds[1].abs() < 1e-12);
    }

    #[test]
    fn one_of_each_leaves_nothing() {
        let strata = Strata::of(&[vec![3.0]], &[0], &[0]);
        assert_eq!(strata.rest.contrasts, 0);
        assert_eq!(strata.of_all(), None);
        assert_eq!(strata.rest.by_place.freedom, 0.0);
        let none = Strata::of(&[], &[0, 1], &[0, 0]);
        assert_eq!(none.people.by_place.freedom, 0.0);
    }
}
