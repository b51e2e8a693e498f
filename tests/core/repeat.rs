//! Repeat studies of stations: what is found of rounds whose components are known, what is not told and why, how the study
//! follows its surveys.

use evenfield::geometry::{Place, Shape};
use evenfield::numeric::random::Normals;
use evenfield::record::{RepeatRecord, component_rows, no_study_words, round_rows};
use evenfield::repeat::{Between, NoStudy, Study, Unknown};
use evenfield::station::{Edit, Reading, RepeatStudy, Round, Station, Survey};
use jiff::civil::date;

/// Rounds by (who, day, pallet put back before): 1 % noise, each person 2 % from the next, positions without a height apart.
fn station(rounds: &[(&str, i8, bool)]) -> Station {
    let shape = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    let mut station = Station::new("Bench", shape, 100.0);
    let mut normals = Normals::new(4, 2);
    for (i, (who, day, _)) in rounds.iter().enumerate() {
        let mut survey = station.new_survey(&format!("Round {}", i + 1), date(2026, 5, *day));
        survey.operator = (*who).into();
        survey.readings = (0..60)
            .map(|p| {
                let at = Place::new(f64::from(p % 10) * 18.0, f64::from(p / 10) * 22.0, 12.0);
                let more = if *who == "B" { 0.02 } else { 0.0 };
                let log = 4.0 + 0.001 * at.x + more + 0.01 * normals.draw();
                Reading {
                    position: format!("P{p}"),
                    ..Reading::new(at, Some(log.exp()))
                }
            })
            .collect();
        station.surveys.push(survey.into());
    }
    let named = rounds.iter().enumerate().map(|(i, round)| Round {
        survey: format!("Round {}", i + 1),
        reset: round.2,
    });
    station.repeat = Some(RepeatStudy {
        rounds: named.collect(),
    });
    station
}

fn study(rounds: &[(&str, i8, bool)]) -> Study {
    Study::of(&station(rounds)).expect("a study")
}

const TWO_BY_TWO: [(&str, i8, bool); 4] = [
    ("A", 1, false),
    ("B", 1, false),
    ("A", 2, true),
    ("B", 2, false),
];

#[test]
fn common_changes_are_taken_out_and_shown_first() {
    let study = study(&TWO_BY_TWO);
    assert_eq!(study.between, Some(Between::People));
    assert_eq!((study.groups, study.settings, study.places), (2, 2, 60));
    let settings: Vec<usize> = study.rounds.iter().map(|r| r.setting).collect();
    assert_eq!(settings, [0, 0, 1, 1]);
    // B reads 2 % more, about the mean of both
    for (round, expected) in study.rounds.iter().zip([-0.01, 0.01, -0.01, 0.01]) {
        let within = round.within.expect("told");
        assert!((round.common - expected).abs() < within, "{round:?}");
        assert!(within < 0.005, "{round:?}");
    }
    // what is in the common changes is in nothing that is told position by position
    let repeatability = study.repeatability;
    assert!(
        (repeatability.deviation / 0.01 - 1.0).abs() < 0.3,
        "{study:?}"
    );
    assert_eq!(repeatability.freedom, 59.0);
    assert!(study.by_place.expect("told").interval.0 < 0.003);
    assert!(study.reload.expect("told").interval.0 < 0.003);
}

#[test]
fn two_people_give_one_degree_of_freedom_and_it_is_said() {
    let station = station(&TWO_BY_TWO);
    let study = Study::of(&station).expect("a study");
    let alike = study.alike.expect("told");
    assert_eq!(alike.freedom, 1.0);
    assert!(alike.interval.1 > 10.0 * alike.deviation, "{alike:?}");
    let record = RepeatRecord::new(&station, &study, None);
    assert!(
        record.notes[0].starts_with("2 people give 1 degree of freedom"),
        "{:?}",
        record.notes
    );
    let rows = component_rows(&record);
    let alike = rows
        .iter()
        .find(|r| r[0] == "Between people, all positions alike");
    assert_eq!(alike.expect("a row")[3], "1");
    assert_eq!(round_rows(&record).len(), 4);
    assert!(record.proposed.reload_percent.is_some());
    assert_eq!(record.proposed.placement_mm, None);
}

#[test]
fn what_is_not_told_says_why() {
    let known = |rounds: &[(&str, i8, bool)]| {
        let study = study(rounds);
        (
            study.reload.err(),
            study.by_place.err(),
            study.alike.err(),
            study.reproducibility.err(),
        )
    };
    // one person, one day: neither
    assert_eq!(
        known(&[("A", 1, false), ("A", 1, false)]),
        (
            Some(Unknown::NeverReset),
            Some(Unknown::OneGroup),
            Some(Unknown::OneGroup),
            Some(Unknown::OneGroup)
        )
    );
    // each put the pallet back before every round
    let (reload, ..) = known(&[
        ("A", 1, false),
        ("A", 1, true),
        ("A", 2, true),
        ("A", 2, true),
    ]);
    assert_eq!(reload, Some(Unknown::EachReset));
    // everybody once
    let (_, by_place, alike, _) = known(&[("A", 1, false), ("B", 1, false), ("C", 1, false)]);
    assert_eq!(by_place, Some(Unknown::EachOnce));
    assert_eq!(alike, Some(Unknown::EachOnce));
    // people and pallet always together: what people differ in is told, the pallet is not told from them
    let (reload, by_place, ..) = known(&[
        ("A", 1, false),
        ("A", 1, false),
        ("B", 1, true),
        ("B", 1, false),
    ]);
    assert_eq!(reload, Some(Unknown::Together));
    assert_eq!(by_place, None);
    // one person on several days
    let study = study(&[
        ("A", 1, false),
        ("A", 1, false),
        ("A", 2, false),
        ("A", 2, false),
    ]);
    assert_eq!(study.between, Some(Between::Days));
    assert!(study.alike.is_ok());
}

#[test]
fn a_study_wants_rounds_and_positions() {
    let mut station = station(&TWO_BY_TWO);
    let words = |station: &Station| no_study_words(&Study::of(station).expect_err("none"));
    // positions that not all have are left out
    station.surveys[3].readings.truncate(40);
    station.surveys[1].readings[5].excluded = Some("slipped".into());
    let study = Study::of(&station).expect("a study");
    assert_eq!((study.places, study.left_out), (39, 21));
    station.surveys[3].readings.clear();
    assert_eq!(Study::of(&station), Err(NoStudy::FewPlaces(0)));
    assert!(words(&station).starts_with("0 positions were read in all"));
    station.repeat = Some(RepeatStudy {
        rounds: vec![Round {
            survey: "Round 1".into(),
            reset: false,
        }],
    });
    assert_eq!(Study::of(&station), Err(NoStudy::OneRound));
    station.repeat = None;
    assert_eq!(Study::of(&station), Err(NoStudy::NotChosen));
}

#[test]
fn readings_that_are_all_alike_scatter_by_nothing() {
    let mut station = station(&TWO_BY_TWO);
    for survey in &mut station.surveys {
        survey
            .readings
            .iter_mut()
            .for_each(|r| r.irradiance = Some(50.0));
    }
    let study = Study::of(&station).expect("a study");
    assert_eq!(study.repeatability.deviation, 0.0);
    let record = RepeatRecord::new(&station, &study, None);
    assert!(record.largest_scatter.is_empty());
    // what is taken over is still a sound setting
    let settings = evenfield::station::Settings {
        scatter: Some(record.scatter()),
        ..station.settings.clone()
    };
    station.apply(Edit::SetSettings(settings)).expect("sound");
}

#[test]
fn the_study_follows_its_surveys() {
    let mut station = station(&TWO_BY_TWO);
    let renamed = Survey {
        name: "Monday".into(),
        ..station.surveys[1].details()
    };
    station
        .apply(Edit::SetSurveyDetails(1, renamed))
        .expect("taken");
    let names = |station: &Station| -> Vec<String> {
        let rounds = station.repeat.iter().flat_map(|study| &study.rounds);
        rounds.map(|r| r.survey.clone()).collect()
    };
    assert_eq!(names(&station), ["Round 1", "Monday", "Round 3", "Round 4"]);
    assert!(
        station
            .check()
            .iter()
            .all(|f| f.place != evenfield::station::Where::Repeat)
    );
    station.apply(Edit::RemoveSurvey(0)).expect("taken");
    assert_eq!(names(&station), ["Monday", "Round 3", "Round 4"]);
    for _ in 0..3 {
        station.apply(Edit::RemoveSurvey(0)).expect("taken");
    }
    assert_eq!(station.repeat, None);
}

#[test]
fn a_study_of_a_survey_that_is_not_there_is_odd() {
    let mut station = station(&TWO_BY_TWO);
    let missing = Round {
        survey: "Tuesday".into(),
        reset: false,
    };
    let mut study = station.repeat.clone().expect("a study");
    study.rounds.push(missing);
    study.rounds.push(study.rounds[0].clone());
    station.apply(Edit::SetRepeat(Some(study))).expect("taken");
    let found = station.check();
    let said: Vec<&str> = found
        .iter()
        .filter(|f| f.place == evenfield::station::Where::Repeat)
        .map(|f| f.what.as_str())
        .collect();
    assert_eq!(
        said,
        [
            "the repeat study names survey Tuesday, which is not there",
            "the repeat study names survey Round 1 twice"
        ]
    );
    assert_eq!(Study::of(&station), Err(NoStudy::Missing("Tuesday".into())));
}
