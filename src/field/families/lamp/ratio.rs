//! What of an inferred lamp's light arrives at bonds, relative to what it sends to level places in the open.
//!
//! Both are sums over the same emitters, so their ratio is sure where the light that is lost, or seen slanting, comes from
//! parts of the face whose brightness the readings tell, and unsure where it hangs on what they do not.

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};

use super::SourceField;
use super::glow::Glow;
use super::lattice::dot;
use crate::field::bond::Receiver;
use crate::numeric::triangle::{add_gram, add_outer_gram};

/// Light at a bond is no less than this part of that in the open: a logarithm needs something.
const DARKEST: f64 = 1e-3;
/// An arc is about so wide, mm.
const ARC_WIDE: f64 = 10.0;
/// By more than this a ratio's logarithm is not taken to change with a parameter.
const MOST_SWING: f64 = 1.0;

/// Ratios of light at bonds to that in the open.
#[derive(Debug, Clone)]
pub(in crate::field) struct Ratios {
    /// Expected logarithms.
    pub logs: Vec<f64>,
    /// Their covariance (lower triangle).
    pub covariance: Mat<f64>,
    /// Mean deviation of what comes of each part of the light from what comes of all, relative to that: how much the ratio
    /// hangs on where the light comes from.
    pub spread: Vec<f64>,
}

/// What a lamp sends to a receiver, emitter by emitter per unit weight, and in the open; the arc's last.
struct Sent {
    there: Vec<f64>,
    open: Vec<f64>,
    /// How much of each emitter's light comes through, and how far above the light then seemed to come from, mm; the same of
    /// the arc.
    passes: Vec<f64>,
    above: (f64, f64),
}

/// Heights that light seems to come from are taken as one within this part of them: what stands in its way is then the same.
const AS_HIGH: f64 = 0.02;

impl Glow {
    /// With `again` the passes of another lamp's light to the same receiver stand where that comes from about as high up.
    fn sent(&self, receiver: &Receiver, sent: &mut Sent, again: bool) {
        let n = self.emitters.len();
        let points = &self.lattice.points;
        sent.open.resize(n + 1, 0.0);
        sent.there.resize(n + 1, 0.0);
        sent.passes.resize(n + 1, 0.0);
        let reach = |at: crate::geometry::Place, out: &mut [f64]| {
            let distance = self.lattice.distance(at);
            let beside = (at.x, at.y);
            (self.lobe).reach(&self.shape, points, beside, distance, &mut out[..n]);
            let arc = self.lattice.arc(self.lobe, &self.shape, at);
            out[n] = arc.map_or(0.0, |(gives, _)| gives);
            distance
        };
        let distance = reach(receiver.open, &mut sent.open);
        let distance = if receiver.at == receiver.open {
            sent.there.copy_from_slice(&sent.open);
            distance
        } else {
            reach(receiver.at, &mut sent.there)
        };
        let at = receiver.at;
        let as_high = |a: f64, b: f64| again && (a / b - 1.0).abs() < AS_HIGH;
        let above = distance + self.lobe.depth(&self.shape);
        if !as_high(above, sent.above.0) {
            let wide = self.lattice.pitch();
            let emitters = points.x.iter().zip(&points.y);
            for (pass, (x, y)) in sent.passes.iter_mut().zip(emitters) {
                *pass = receiver.passes((x - at.x, y - at.y), above, wide);
            }
            sent.above.0 = above;
        }
        if sent.there[n] != 0.0 {
            let above = distance + self.shape[5].exp();
            if !as_high(above, sent.above.1) {
                let middle = self.lattice.middle();
                let beside = (middle.x - at.x, middle.y - at.y);
                sent.passes[n] = receiver.passes(beside, above, (ARC_WIDE, ARC_WIDE));
                sent.above.1 = above;
            }
        }
        let each = sent.there.iter_mut().zip(&sent.passes);
        each.for_each(|(there, pass)| *there *= pass);
    }

    /// Light at the bond and in the open, mW/cm².
    fn lights(&self, sent: &Sent) -> (f64, f64) {
        let n = self.emitters.len();
        let of = |reach: &[f64]| dot(&reach[..n], &self.emitters) + self.arc * reach[n];
        (of(&sent.there), of(&sent.open))
    }

    fn log_ratio(&self, receiver: &Receiver, sent: &mut Sent, again: bool) -> f64 {
        self.sent(receiver, sent, again);
        log_ratio(self.lights(sent))
    }

    /// See [`Ratios::spread`].
    fn spread(&self, sent: &Sent, ratio: f64) -> f64 {
        let n = self.emitters.len();
        let (mut apart, mut all) = (0.0, 0.0);
        let weights = self.emitters.iter().chain([&self.arc]);
        for ((there, open), weight) in sent.there.iter().zip(&sent.open).zip(weights) {
            apart += (there - ratio * open).abs() * weight.max(0.0);
            all += open * weight.max(0.0);
        }
        debug_assert_eq!(sent.there.len(), n + 1);
        if all > 0.0 {
            apart / (all * ratio)
        } else {
            0.0
        }
    }
}

fn log_ratio((there, open): (f64, f64)) -> f64 {
    if open > 0.0 {
        (there / open).max(DARKEST).ln()
    } else {
        0.0
    }
}

impl Sent {
    fn new() -> Self {
        Self {
            there: Vec::new(),
            open: Vec::new(),
            passes: Vec::new(),
            above: (0.0, 0.0),
        }
    }
}

impl SourceField {
    /// Expected logarithms of the ratios at receivers.
    pub fn log_ratios(&self, receivers: &[&Receiver]) -> Vec<f64> {
        let mut sent = Sent::new();
        let glow = &self.best.glow;
        let each = receivers
            .iter()
            .map(|r| glow.log_ratio(r, &mut sent, false));
        each.collect()
    }

    /// The ratios at receivers, and how sure they are.
    pub fn ratios(&self, receivers: &[&Receiver]) -> Ratios {
        let best = &self.best;
        let glow = &best.glow;
        let (m, n, width) = (receivers.len(), glow.emitters.len(), best.roots.len());
        let mut own = Mat::<f64>::zeros(width, m);
        let (mut logs, mut spread) = (Vec::with_capacity(m), Vec::with_capacity(m));
        let (mut sent, mut beside) = (Sent::new(), Sent::new());
        let mut swings = Mat::<f64>::zeros(m, self.aside.len());
        let mut raw = vec![0.0; 2 * n];
        let mut features = vec![0.0; 2 * width];
        for (j, receiver) in receivers.iter().enumerate() {
            glow.sent(receiver, &mut sent, false);
            let (there, open) = glow.lights(&sent);
            let log = log_ratio((there, open));
            logs.push(log);
            spread.push(glow.spread(&sent, log.exp()));
            raw[..n].copy_from_slice(&sent.there[..n]);
            raw[n..].copy_from_slice(&sent.open[..n]);
            features.fill(0.0);
            glow.lattice
                .features_of(&mut raw, width - glow.arcs(), &mut features);
            let (of_there, of_open) = features.split_at(width - glow.arcs());
            let open = open.max(f64::MIN_POSITIVE);
            let there = there.max(DARKEST * open);
            let per = |f: f64, o: f64| best.brightness * (f / there - o / open);
            let column = own.col_as_slice_mut(j);
            for (((c, f), o), root) in column
                .iter_mut()
                .zip(of_there)
                .zip(of_open)
                .zip(&best.roots)
            {
                *c = root * per(*f, *o);
            }
            for (k, aside) in self.aside.iter().enumerate() {
                let swing = aside.log_ratio(receiver, &mut beside, k > 0) - log;
                swings[(j, k)] = swing.clamp(-MOST_SWING, MOST_SWING);
            }
            if glow.arcs() == 1 {
                column[width - 1] = best.roots[width - 1] * per(sent.there[n], sent.open[n]);
            }
        }
        let mut explained = Mat::<f64>::zeros(best.features.nrows(), m);
        matmul(
            explained.as_mut(),
            Accum::Replace,
            best.features.as_ref(),
            own.as_ref(),
            1.0,
            Par::Seq,
        );
        best.system.factor.whiten(explained.as_mut());
        let mut covariance = Mat::<f64>::zeros(m, m);
        add_gram(&mut covariance, own.as_ref(), 1.0);
        add_gram(&mut covariance, explained.as_ref(), -1.0);
        add_outer_gram(&mut covariance, swings.as_ref(), 1.0);
        for j in 0..m {
            let column = &mut covariance.col_as_slice_mut(j)[j..];
            column.iter_mut().for_each(|c| *c *= self.inflation);
        }
        Ratios {
            logs,
            covariance,
            spread,
        }
    }
}
