//! Which parts of a document are others than they were.

use super::Station;

impl Station {
    /// The parts that are not as they were in `before`, in words, lower case, in the order of the steps.
    pub fn parts_changed_since(&self, before: &Self) -> Vec<String> {
        let mut parts: Vec<String> = Vec::new();
        let mut part = |is_other: bool, what: &str| {
            if is_other {
                parts.push(what.to_owned());
            }
        };
        part(self.name != before.name, "name");
        part(self.notes != before.notes, "notes");
        part(self.source != before.source, "source");
        part(self.fixture != before.fixture, "fixture");
        part(self.sites != before.sites, "sites");
        part(self.keep_outs != before.keep_outs, "keep-outs");
        part(self.radiometers != before.radiometers, "radiometers");
        part(self.plan != before.plan, "plan");
        part(self.settings != before.settings, "how the answer is made");
        part(self.limits != before.limits, "limits");
        part(self.trials != before.trials, "cure trials");
        part(self.exposure != before.exposure, "course of the exposure");
        part(self.repeat != before.repeat, "repeat study");
        part(self.papers != before.papers, "who answers for the record");
        for survey in &self.surveys {
            match before.surveys.iter().find(|s| s.name == survey.name) {
                None => parts.push(format!("survey {} added", survey.name)),
                Some(was) if was != survey => parts.push(format!("survey {}", survey.name)),
                Some(_) => {}
            }
        }
        let gone = |name: &String| !self.surveys.iter().any(|s| s.name == *name);
        for survey in before.surveys.iter().filter(|s| gone(&s.name)) {
            parts.push(format!("survey {} removed", survey.name));
        }
        let (now, was) = (self.upkeep(), before.upkeep());
        if now.log != was.log {
            let (n, m) = (now.log.len(), was.log.len());
            let kept = was.log.iter().zip(now.log.iter()).all(|(a, b)| a == b);
            parts.push(match n.checked_sub(m) {
                Some(1) if kept => "irradiance log, one entry more".to_owned(),
                Some(more) if kept && more > 0 => {
                    format!("irradiance log, {more} entries more")
                }
                _ => "irradiance log, earlier entries".to_owned(),
            });
        }
        let mut part = |is_other: bool, what: &str| {
            if is_other {
                parts.push(what.to_owned());
            }
        };
        part(now.events != was.events, "events");
        part(now.beside != was.beside, "radiometers side by side");
        part(now.every != was.every, "days between checks");
        parts
    }
}
