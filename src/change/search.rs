//! Looks for zones: at every cell, in some widths and as a dark part of the lamp's face, how much of a zone there is; the most
//! certain one is taken into the model, and the rest is looked at again beside it, until nothing is left that is both significant
//! and worth a zone.

use faer::Mat;

use super::form::{Form, Lit, beside, patterns};
use super::model::{Amplitude, Data, Sizes, Solved};
use super::told::Bars;
use super::zones::significant;
use crate::geometry::{Bounds, Point};
use crate::numeric::neighbours::median_spacing;
use crate::progress::{Cancelled, Progress};

/// Widths of zones that are looked for, in pitches.
pub const WIDTHS: [f64; 3] = [1.5, 2.5, 4.0];
/// How much more forward than Lambert's the light of a dark part of the face may be: a cosine more. A plane emitter has none, an
/// LED behind a lens about two (its half angle of 45 degrees instead of 60).
pub const FORWARD: [f64; 2] = [0.0, 2.0];
/// Forms whose squared scores differ by less than this are not told apart with 99.9 % confidence: a likelihood ratio of one degree of
/// freedom (Wilks 1938, Ann. Math. Statist. 9:60). With 95 % (3.84) depths of dark parts of the face were held in 74 % of stations.
const AS_LIKELY: f64 = 10.83;
/// More zones than this are no zones but another pattern.
const MOST: usize = 6;
/// A local change as rough as this is no zone but wear like any, relative standard deviation.
pub const ROUGH: f64 = 0.0065;

/// Typical distance from position to position as if they were as far apart along x as along y, and the longer side of what they
/// span, mm.
pub fn spread(points: &[Point]) -> (f64, f64) {
    let mut distinct: Vec<Point> = Vec::new();
    for p in points {
        if distinct.iter().all(|q| q.distance(*p) > 1.0) {
            distinct.push(*p);
        }
    }
    let least = median_spacing(&distinct).unwrap_or(20.0).max(1.0);
    let Some(bounds) = Bounds::around(distinct.iter().copied()) else {
        return (least, 2.0 * least);
    };
    let cells = ((distinct.len() as f64).sqrt() - 1.0).max(1.0);
    let even = (bounds.width() * bounds.depth()).sqrt() / cells;
    let pitch = even.clamp(least, 3.0 * least);
    (pitch, bounds.width().max(bounds.depth()).max(2.0 * pitch))
}

/// What was found.
pub struct Searched {
    /// One by one: what each is at the cells, a column each.
    pub found: Mat<f64>,
    /// For each of them how much less and more deep it is in other forms that the readings don't tell from it.
    pub else_deep: Vec<(f64, f64)>,
    /// For each cell whether a zone there is significant in any form.
    pub marks: Vec<bool>,
    /// How many tests were significant, of how many.
    pub picked: (usize, usize),
    /// What a zone of the least width is estimated with at each cell, before any was taken into the model.
    pub narrowest: Vec<Amplitude>,
    /// The data with the zones among the modes, after the modes proper.
    pub data: Data,
}

/// Sizes with which zones are tested: what is rough may well be noise of the place, but no zone.
pub fn tested(sizes: Sizes) -> Sizes {
    sizes.with_local(sizes.local.min(ROUGH))
}

/// Looks for zones in data. `Ok(None)` where the equations can't be solved.
///
/// # Errors
/// [`Cancelled`].
pub fn search(
    mut data: Data,
    sizes: Sizes,
    (lit, cells): (&Lit<'_>, &Lit<'_>),
    pitch: f64,
    bars: &Bars,
    progress: &Progress,
) -> Result<Option<Searched>, Cancelled> {
    let n = cells.at.len();
    let round = WIDTHS.iter().flat_map(|w| {
        cells
            .at
            .iter()
            .map(move |p| Form::Round(p.point(), w * pitch))
    });
    let faces = FORWARD.iter().flat_map(|&forward| {
        let below = cells.at.iter().zip(cells.log);
        below.map(move |(&under, &log)| Form::Face {
            under,
            log,
            forward,
        })
    });
    let forms: Vec<Form> = round.chain(faces).collect();
    let all = patterns(lit, &forms);
    let mut found = Mat::<f64>::zeros(n, 0);
    let (mut else_deep, mut first) = (Vec::new(), None);
    loop {
        progress.check()?;
        let Some(solved) = Solved::of(&data, tested(sizes)) else {
            return Ok(None);
        };
        let freedom = solved.freedom();
        let amplitudes = solved.amplitudes(&all);
        let picks = significant(&amplitudes, freedom, bars.false_share);
        first.get_or_insert_with(|| {
            let marks = (0..n).map(|s| picks.iter().skip(s).step_by(n).any(|p| *p));
            let count = picks.iter().filter(|p| **p).count();
            (
                marks.collect(),
                (count, picks.len()),
                amplitudes[..n].to_vec(),
            )
        });
        let worth = |a: f64| a <= (-bars.worth).ln_1p() || a >= bars.worth.ln_1p();
        let best = (0..amplitudes.len())
            .filter(|&k| picks[k] && worth(amplitudes[k].value))
            .max_by(|&a, &b| {
                let of = |k: usize| amplitudes[k].score().abs();
                of(a).total_cmp(&of(b))
            });
        let Some(best) = best.filter(|_| found.ncols() < MOST) else {
            break;
        };
        found = beside(&found, &patterns(cells, &forms[best..=best]), 0);
        else_deep.push(depths_elsewhere(best, &amplitudes, &forms, cells, pitch));
        data.modes = beside(&data.modes, &all, best);
        data.has_zones = true;
    }
    let (marks, picked, narrowest) = first.unwrap_or_default();
    Ok(Some(Searched {
        found,
        else_deep,
        marks,
        picked,
        narrowest,
        data,
    }))
}

/// How much deeper and less deep in its deepest place a zone is in other forms near it that are about as likely: by how much the
/// best one's depth goes down, and up.
fn depths_elsewhere(
    best: usize,
    amplitudes: &[Amplitude],
    forms: &[Form],
    cells: &Lit<'_>,
    pitch: f64,
) -> (f64, f64) {
    let square = |k: usize| amplitudes[k].score().powi(2);
    let depth = |k: usize| amplitudes[k].value * forms[k].most(cells);
    let own = depth(best);
    let is_near = |k: &usize| {
        let apart = forms[*k].middle().distance(forms[best].middle());
        apart <= WIDTHS[0] * pitch && amplitudes[*k].value * own > 0.0
    };
    let alike = (0..forms.len()).filter(|&k| square(k) >= square(best) - AS_LIKELY);
    let each = alike.filter(is_near).map(|k| depth(k) - own);
    each.fold((0.0, 0.0), |(down, up), d| {
        (f64::min(down, d), f64::max(up, d))
    })
}
