//! What clamps, rims, recesses and substrates do to the answer about a station.

use evenfield::assess::{Answer, Request, SurveyFit, answer_with, fit_survey};
use evenfield::geometry::Shape;
use evenfield::progress::Progress;
use evenfield::record::VerdictRecord;
use evenfield::session::sample;
use evenfield::station::{
    Bond, Edit, Family, KeepOut, Lying, Pallet, Rim, Severity, SiteGroup, Station, Substrate, Where,
};

struct Bench {
    station: Station,
    fit: SurveyFit,
}

impl Bench {
    /// The sample, its survey read with the pallet out, so that no clamp shades a reading.
    fn new() -> Self {
        let mut station = sample();
        let last = station.newest_survey().expect("a survey");
        station.surveys[last].state.pallet = Pallet::Out;
        let request = Request::of_survey(last);
        let fit = fit_survey(&station, &request, &Progress::new()).expect("a field");
        Self { station, fit }
    }

    fn answer(&self, station: &Station) -> Answer {
        let request = Request::of_survey(self.fit.survey);
        answer_with(&self.fit, station, &request, &Progress::new()).expect("an answer")
    }

    fn with(&self, edits: impl IntoIterator<Item = Edit>) -> Station {
        let mut station = self.station.clone();
        for edit in edits {
            station.apply(edit).expect("sound");
        }
        station
    }

    fn clamp(&self, height: Option<f64>) -> Edit {
        let clamp = KeepOut {
            height,
            ..self.station.keep_outs[0].clone()
        };
        Edit::SetKeepOut(0, clamp)
    }

    fn sites(&self, group: usize, change: impl Fn(&mut SiteGroup)) -> Edit {
        let mut changed = self.station.sites[group].clone();
        change(&mut changed);
        Edit::SetSites(group, changed)
    }
}

#[test]
fn a_clamp_that_is_given_its_height_throws_a_shadow() {
    let bench = Bench::new();
    let open = bench.answer(&bench.station);
    assert_eq!(open.bond, None);
    let station = bench.with([bench.clamp(Some(45.0))]);
    let shaded = bench.answer(&station);
    let told = shaded.bond.as_ref().expect("something stands there");
    assert!(told.lamp_known);
    // what such a shadow takes is an estimate: nothing there is proven, and it is said why
    assert!(!told.is_shown && told.is_unproven());
    assert_eq!(shaded.coldest.at_least, None);
    let said = |part: &str| shaded.warnings.iter().any(|w| w.contains(part));
    assert!(said("move what stands in the light"));
    assert!(said(
        "There is no assured minimum: something stands in the light's way"
    ));
    if let Some(judged) = shaded.judged() {
        assert_eq!(
            judged.verdict,
            evenfield::assess::limits::Verdict::NotProven
        );
    }
    // the sites beside the clamp get less than in the open, those far from it as much
    let of = |answer: &Answer, name: &str| {
        let found = answer.sites.iter().find(|s| s.site == name);
        found.expect("the site").clone()
    };
    let (beside, before) = (of(&shaded, "Body A2"), of(&open, "Body A2"));
    assert!(beside.coldest.irradiance < 0.97 * before.coldest.irradiance);
    assert!(beside.coldest.at_least < before.coldest.at_least);
    let far = (of(&shaded, "Lid A4"), of(&open, "Lid A4"));
    let apart = far.0.coldest.irradiance / far.1.coldest.irradiance - 1.0;
    assert!(apart.abs() < 0.01, "{apart}");
    // and the record says both
    let record = VerdictRecord::new(&station, &shaded, None);
    let site = record.sites.iter().find(|s| s.site == "Body A2");
    let in_open = site.and_then(|s| s.in_the_open_mw_cm2).expect("said");
    assert!(in_open > beside.coldest.irradiance);
    assert!(record.coldest.in_the_open_mw_cm2.is_some());
    // a clamp no higher than the bonds is none
    let flat = bench.answer(&bench.with([bench.clamp(Some(12.0))]));
    assert!((flat.coldest.irradiance / open.coldest.irradiance - 1.0).abs() < 1e-3);
    assert!(flat.coldest.at_least.is_some());
}

#[test]
fn what_hangs_on_heights_is_said() {
    let bench = Bench::new();
    let rim = Edit::SetFixture(evenfield::station::Fixture {
        rim: Some(Rim {
            height: 64.0,
            thickness: 6.0,
        }),
        ..bench.station.fixture.clone()
    });
    let answer = bench.answer(&bench.with([rim]));
    let told = answer.bond.as_ref().expect("a rim");
    assert!(told.hangs > 0.01, "{}", told.hangs);
    let said = |a: &Answer| {
        a.warnings
            .iter()
            .any(|w| w.contains("hangs on the heights"))
    };
    assert!(said(&answer));
    assert!(!said(&bench.answer(&bench.station)));
}

#[test]
fn a_pocket_counts_its_bottom_only_and_a_substrate_takes_its_share() {
    let bench = Bench::new();
    let open = bench.answer(&bench.station);
    let glass = |percent| Bond {
        lies: Lying::Level,
        behind: Some(Substrate {
            percent,
            uncertainty_percent: 2.0,
            index: 1.5,
            thickness: 0.0,
        }),
    };
    let all = |bond: Bond| [0, 1].map(|group| bench.sites(group, |g| g.bond = Some(bond.clone())));
    let behind = bench.answer(&bench.with(all(glass(80.0))));
    let ratio = behind.coldest.irradiance / open.coldest.irradiance;
    // slanting light loses more
    assert!((0.70..0.80).contains(&ratio), "{ratio}");
    let pocket = Bond {
        lies: Lying::Pocket {
            shape: Shape::Circle { diameter: 12.0 },
            depth: 6.0,
        },
        behind: None,
    };
    let deep = bench.answer(&bench.with(all(pocket)));
    for site in &deep.sites {
        let centre = bench.station.all_sites();
        let centre = centre.iter().find(|s| s.name == site.site).expect("it");
        let away = site.coldest.at.point().distance(centre.footprint.centre);
        assert!(away <= 6.0 + 1e-6);
        let [cold, _] = site.open.expect("two figures");
        assert!(site.coldest.irradiance < 0.7 * cold);
    }
}

#[test]
fn without_knowledge_of_a_lamp_nothing_is_proven_at_the_bond() {
    let bench = Bench::new();
    let mut station = bench.with([bench.clamp(Some(45.0))]);
    station.settings.family = Some(Family::OrdinaryKriging);
    let request = Request::of_survey(bench.fit.survey);
    let fit = fit_survey(&station, &request, &Progress::new()).expect("a field");
    let answer = answer_with(&fit, &station, &request, &Progress::new()).expect("an answer");
    assert!(answer.bond.as_ref().is_some_and(|b| !b.lamp_known));
    assert_eq!(answer.coldest.at_least, None);
    assert!(
        answer
            .warnings
            .iter()
            .any(|w| w.contains("Nothing is proven at the bond"))
    );
}

#[test]
fn readings_in_a_shadow_are_told() {
    let bench = Bench::new();
    let mut station = bench.with([bench.clamp(Some(45.0))]);
    station.surveys[bench.fit.survey].state.pallet = Pallet::Empty;
    let told = bench.answer(&station).bond.expect("a clamp");
    assert!(!told.in_shadow.is_empty());
    assert!(told.in_shadow.iter().all(|(_, share)| *share < 0.98));
}

#[test]
fn what_cannot_be_of_bonds_is_found_or_refused() {
    let bench = Bench::new();
    let mut station = bench.station.clone();
    let steep = bench.sites(0, |g| {
        g.bond = Some(Bond {
            lies: Lying::Tilted {
                angle: 95.0,
                towards: 0.0,
            },
            behind: None,
        });
    });
    assert!(station.apply(steep).is_err());
    let thin = bench.sites(0, |g| {
        g.bond = Some(Bond {
            lies: Lying::Level,
            behind: Some(Substrate {
                percent: 90.0,
                uncertainty_percent: 0.0,
                index: 0.5,
                thickness: 1.0,
            }),
        });
    });
    let refused = station.apply(thin).expect_err("no such index");
    assert!(refused.to_string().contains("refractive index"));
    assert_eq!(station, bench.station);
    let high = bench.with([
        bench.sites(0, |g| g.top = Some(90.0)),
        bench.sites(1, |g| {
            g.bond = Some(Bond {
                lies: Lying::Pocket {
                    shape: Shape::Circle { diameter: 60.0 },
                    depth: 3.0,
                },
                behind: None,
            });
        }),
    ]);
    let found = high.check();
    let said = |i: usize, what: &str| {
        found.iter().any(|f| {
            f.place == Where::Sites(i) && f.severity == Severity::Warning && f.what.contains(what)
        })
    };
    assert!(said(0, "not below the face"));
    assert!(said(1, "larger than the part"));
}
