//! The shortest way through points: each is put in where it costs least (nearest insertion in the order given), and after
//! each the way is mended by turning parts of it round (2-opt: Croes 1958) and by moving up to three points to another
//! place of it (Or-opt: Or 1976) until none of that makes it shorter.
//!
//! The order given is the memory that keeps a route what it was: a point added at the end changes the way through the others
//! only where that saves length. The same points in the same order give the same way.

use crate::geometry::Point;

/// How a way begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// It comes back to where it began.
    Closed,
    /// It begins and ends where it likes.
    Free,
    /// It begins at the point of that index and ends where it likes.
    From(usize),
}

/// A change must save more, mm: rounding must not send it round in circles.
const LEAST_SAVED: f64 = 1e-9;

/// Points that are moved together, at most.
const TOGETHER: usize = 3;

/// Indices of the points in the order of a short way through all of them; for a few hundred points at most, the work grows
/// with the third power of their number. A way with a beginning begins there, others at the end that was given first.
pub fn shortest(points: &[Point], ends: Ends) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    if let Ends::From(first) = ends
        && first < order.len()
    {
        order.remove(first);
        order.insert(0, first);
    }
    Way::through(points, ends, &order).unrolled()
}

/// How long a way is, mm; with the way back where it is closed.
pub fn length(points: &[Point], order: &[usize], closed: bool) -> f64 {
    let step = |pair: &[usize]| points[pair[0]].distance(points[pair[1]]);
    let there: f64 = order.windows(2).map(step).sum();
    match (order.first(), order.last()) {
        (Some(&first), Some(&last)) if closed => there + points[last].distance(points[first]),
        _ => there,
    }
}

/// A closed way. One with ends goes over a point beyond all others that is as near to each of them: where it passes that
/// point it is cut.
struct Way {
    /// Between all pairs.
    apart: Vec<f64>,
    nodes: usize,
    tour: Vec<usize>,
    ends: Ends,
}

impl Way {
    fn through(points: &[Point], ends: Ends, order: &[usize]) -> Self {
        let n = points.len();
        let nodes = n + usize::from(ends != Ends::Closed);
        // longer than any way through all of them
        let far = 1.0 + length(points, order, true) * (n as f64 + 1.0);
        let between = |a: usize, b: usize| match (a.min(b), a.max(b)) {
            (a, b) if b < n => points[a].distance(points[b]),
            // so near that no change parts the beginning from the point beyond
            (a, _) if ends == Ends::From(a) => -far,
            _ => 0.0,
        };
        let apart = (0..nodes * nodes).map(|i| between(i / nodes, i % nodes));
        let mut way = Self {
            apart: apart.collect(),
            nodes,
            tour: (n..nodes).collect(),
            ends,
        };
        for &node in order {
            way.put_in(node);
            while way.turn_round() || way.move_some() {}
        }
        way
    }

    fn apart(&self, a: usize, b: usize) -> f64 {
        self.apart[a * self.nodes + b]
    }

    /// The node at a place of the tour, counted round and round.
    fn at(&self, place: usize) -> usize {
        self.tour[place % self.tour.len()]
    }

    /// Where it costs least.
    fn put_in(&mut self, node: usize) {
        let cost = |place: &usize| {
            let (a, b) = (self.at(*place), self.at(place + 1));
            self.apart(a, node) + self.apart(node, b) - self.apart(a, b)
        };
        let best = (0..self.tour.len()).min_by(|a, b| cost(a).total_cmp(&cost(b)));
        self.tour.insert(best.map_or(0, |place| place + 1), node);
    }

    /// Turns the part round that saves most; whether one did.
    fn turn_round(&mut self) -> bool {
        let n = self.tour.len();
        let mut best = (LEAST_SAVED, None);
        for i in 0..n {
            for j in i + 2..n {
                let (a, b) = (self.at(i), self.at(i + 1));
                let (c, d) = (self.at(j), self.at(j + 1));
                if a == d {
                    continue;
                }
                let saved =
                    self.apart(a, b) + self.apart(c, d) - self.apart(a, c) - self.apart(b, d);
                if saved > best.0 {
                    best = (saved, Some((i + 1, j)));
                }
            }
        }
        let Some((from, to)) = best.1 else {
            return false;
        };
        self.tour[from..=to].reverse();
        true
    }

    /// Moves the points that save most; whether some did.
    fn move_some(&mut self) -> bool {
        let n = self.tour.len();
        let mut best = (LEAST_SAVED, None);
        for many in 1..=TOGETHER.min(n.saturating_sub(2)) {
            for from in 0..n {
                let (first, last) = (self.at(from), self.at(from + many - 1));
                let (before, after) = (self.at(from + n - 1), self.at(from + many));
                let freed =
                    self.apart(before, first) + self.apart(last, after) - self.apart(before, after);
                // between two that stay
                for place in from + many..from + n - 1 {
                    let (a, b) = (self.at(place), self.at(place + 1));
                    let gap = self.apart(a, b);
                    for (head, tail, turned) in [(first, last, false), (last, first, true)] {
                        let saved = freed + gap - self.apart(a, head) - self.apart(tail, b);
                        if saved > best.0 {
                            best = (saved, Some((from, many, place, turned)));
                        }
                    }
                }
            }
        }
        let Some((from, many, place, turned)) = best.1 else {
            return false;
        };
        let mut moved: Vec<usize> = (from..from + many).map(|i| self.at(i)).collect();
        if turned {
            moved.reverse();
        }
        // round the tour from behind what is moved
        let until = (from + many..=place).map(|i| self.at(i));
        let rest = (place + 1..from + n).map(|i| self.at(i));
        self.tour = until.chain(moved).chain(rest).collect();
        true
    }

    /// The way as points from its beginning to its end.
    fn unrolled(mut self) -> Vec<usize> {
        let beyond = self.nodes - 1;
        let cut = match self.ends {
            Ends::Closed => 0,
            Ends::Free | Ends::From(_) => beyond,
        };
        if let Some(place) = self.tour.iter().position(|node| *node == cut) {
            self.tour.rotate_left(place);
        }
        if self.ends == Ends::Closed {
            return self.tour;
        }
        self.tour.remove(0);
        let first = match self.ends {
            Ends::From(first) => self.tour.first() != Some(&first),
            _ => self.tour.first() > self.tour.last(),
        };
        if first {
            self.tour.reverse();
        }
        self.tour
    }
}
