//! Simple remedies for a field that is not even.

use super::ready::Ready;
use super::{Passes, Placed, ToPlace, Unplaceable};
use crate::geometry::Point;
use crate::progress::Progress;

/// The question with each remedy.
#[derive(Debug, Clone, PartialEq)]
pub struct ToEven {
    /// The question as it is.
    pub ask: ToPlace,
    /// What there is without a remedy.
    pub before: Placed,
    /// From LED to LED along x and y, where the source is a panel of known ones, mm.
    pub leds: Option<(f64, f64)>,
}

/// A remedy and what it gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Which.
    pub kind: RemedyKind,
    /// What fits then.
    pub placed: Placed,
}

/// Simple ways to even out what parts get.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RemedyKind {
    /// The pallet is turned by 180 degrees at half time.
    Turned,
    /// Two passes, the pallet moved by half a pitch between them: along x and y, mm.
    TwoPasses(Point),
    /// Of all sites that there is room for, so many of the worst are left out.
    LeftOut(usize),
}

/// All of them, beside what there is without.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedies {
    /// Without.
    pub before: Placed,
    /// With each.
    pub each: Vec<Remedy>,
}

impl ToEven {
    /// Tries each of them.
    ///
    /// # Errors
    /// As of the question itself.
    pub fn even(&self, progress: &Progress) -> Result<Remedies, Unplaceable> {
        let with = |passes: Passes| -> Result<Placed, Unplaceable> {
            let ask = ToPlace {
                passes,
                ..self.ask.clone()
            };
            ask.arrange(&progress.part())
        };
        let mut each = Vec::new();
        let middle = self.ask.bed.outline.bounds().centre();
        let placed = with(Passes::turned(middle))?;
        each.push(Remedy {
            kind: RemedyKind::Turned,
            placed,
        });
        progress.set(0.3);
        let lattice = self.before.lattice.map(|l| (l.pitch_x, l.pitch_y));
        if let Some((x, y)) = self.leds.or(lattice) {
            let ways = [Point::new(0.5 * x, 0.0), Point::new(0.0, 0.5 * y)];
            let mut best: Option<Remedy> = None;
            for by in ways.into_iter().filter(|by| *by != Point::new(0.0, 0.0)) {
                let placed = with(Passes::moved(by))?;
                let key = |p: &Placed| (p.sites.len(), p.assured.or(p.coldest()).unwrap_or(0.0));
                if best.as_ref().is_none_or(|b| key(&placed) > key(&b.placed)) {
                    best = Some(Remedy {
                        kind: RemedyKind::TwoPasses(by),
                        placed,
                    });
                }
            }
            each.extend(best);
        }
        progress.set(0.8);
        each.extend(self.left_out(progress)?);
        progress.set(1.0);
        Ok(Remedies {
            before: self.before.clone(),
            each,
        })
    }

    /// All that there is room for, and of these the worst left out until the rest are sure.
    fn left_out(&self, progress: &Progress) -> Result<Option<Remedy>, Unplaceable> {
        let ready = Ready::of(&self.ask, progress)?;
        Ok(ready.without_worst(progress)?.map(|(placed, out)| Remedy {
            kind: RemedyKind::LeftOut(out),
            placed,
        }))
    }
}
