use super::*;

const NONE: Allowances = Allowances {
    until_check_percent: 0.0,
    reload_percent: 0.0,
};

fn between(at_least: f64, at_most: f64) -> Bounded {
    Bounded {
        at_least: Some(at_least),
        at_most: Some(at_most),
    }
}

/// All ways in which two bounds can lie to two limits: the decision rule of the issue, in the words of
/// JCGM 106:2012 guarded acceptance and guarded rejection.
#[test]
fn both_bounds_inside_meet_and_only_a_bound_wholly_outside_fails() {
    use Verdict::{Fails, Meets, NotProven};
    let (lower, upper) = (80.0, 140.0);
    let cold = [
        (between(80.0, 90.0), Meets), // at the limit is at or above it
        (between(79.9, 90.0), NotProven),
        (between(70.0, 80.0), NotProven), // at the limit is not below it
        (between(70.0, 79.9), Fails),
    ];
    let hot = [
        (between(120.0, 140.0), Meets),
        (between(120.0, 140.1), NotProven),
        (between(140.0, 150.0), NotProven),
        (between(140.1, 150.0), Fails),
    ];
    for (c, of_cold) in cold {
        for (h, of_hot) in hot {
            let wanted = match (of_cold, of_hot) {
                (Fails, _) | (_, Fails) => Fails,
                (Meets, Meets) => Meets,
                _ => NotProven,
            };
            let said = verdict(
                GoverningRule::AssuredMinimum,
                c,
                h,
                lower,
                Some(upper),
                NONE,
            );
            assert_eq!(said, wanted, "{c:?} {h:?}");
            let alone = verdict(GoverningRule::AssuredMinimum, c, h, lower, None, NONE);
            assert_eq!(
                alone, of_cold,
                "without an upper limit only the coldest counts"
            );
        }
    }
}

#[test]
fn without_bounds_nothing_is_proven() {
    let none = Bounded::default();
    for rule in [
        GoverningRule::AssuredMinimum,
        GoverningRule::LowerOfReadingAndSpot,
        GoverningRule::ColdestReading,
    ] {
        let said = verdict(rule, none, none, 80.0, Some(140.0), NONE);
        assert_eq!(said, Verdict::NotProven, "{rule:?}");
    }
    // one side known to be inside does not prove the other
    let said = verdict(
        GoverningRule::AssuredMinimum,
        between(90.0, 95.0),
        none,
        80.0,
        Some(140.0),
        NONE,
    );
    assert_eq!(said, Verdict::NotProven);
}

#[test]
fn the_coldest_reading_alone_can_fail_and_never_meets() {
    let (good, hot) = (between(100.0, 110.0), between(120.0, 130.0));
    let alone = |at_most, cold| {
        ruled(
            Ruling::NeverMeets(at_most),
            cold,
            hot,
            80.0,
            Some(140.0),
            NONE,
        )
    };
    assert_eq!(alone(Some(105.0), good), Verdict::NotProven);
    assert_eq!(alone(None, good), Verdict::NotProven);
    assert_eq!(alone(Some(79.0), between(70.0, 82.0)), Verdict::Fails);
    assert_eq!(alone(Some(81.0), between(60.0, 79.0)), Verdict::Fails);
}

#[test]
fn the_lower_of_reading_and_spot_asks_for_more_and_never_for_less() {
    let (good, hot) = (between(81.0, 90.0), between(120.0, 130.0));
    let with = |figure, cold| {
        ruled(
            Ruling::AndFigure(figure),
            cold,
            hot,
            80.0,
            Some(140.0),
            NONE,
        )
    };
    assert_eq!(with(85.0, good), Verdict::Meets);
    assert_eq!(with(79.0, good), Verdict::NotProven);
    assert_eq!(with(85.0, between(79.0, 90.0)), Verdict::NotProven);
}

#[test]
fn allowances_make_meeting_harder_and_failing_no_easier() {
    let allowances = Allowances {
        until_check_percent: 5.0,
        reload_percent: 2.0,
    };
    let say = |cold, hot| {
        verdict(
            GoverningRule::AssuredMinimum,
            cold,
            hot,
            80.0,
            Some(140.0),
            allowances,
        )
    };
    // 80 / (0.95 x 0.98) = 85.93; 140 / 1.02 = 137.25
    assert_eq!(
        say(between(86.0, 90.0), between(100.0, 137.2)),
        Verdict::Meets
    );
    assert_eq!(
        say(between(85.9, 90.0), between(100.0, 137.2)),
        Verdict::NotProven
    );
    assert_eq!(
        say(between(86.0, 90.0), between(100.0, 137.3)),
        Verdict::NotProven
    );
    assert_eq!(
        say(between(70.0, 81.0), between(100.0, 120.0)),
        Verdict::NotProven
    );
    assert_eq!(
        say(between(70.0, 79.0), between(100.0, 120.0)),
        Verdict::Fails
    );
}

/// Normal knowledge of one quantity with a one-sided limit: conformity has a probability of 95 % when the
/// estimate lies 1.64 standard uncertainties inside (JCGM 106:2012, 7.3.2 and table 1; from memory). The
/// simple acceptance that ignores uncertainty would accept at 50 %.
#[test]
fn a_limit_is_met_where_conformity_has_95_percent() {
    let (limit, u) = (80.0, 2.0);
    let say = |z: f64| {
        let estimate = limit + z * u;
        let cold = between(estimate - Z95 * u, estimate + Z95 * u);
        verdict(
            GoverningRule::AssuredMinimum,
            cold,
            Bounded::default(),
            limit,
            None,
            NONE,
        )
    };
    assert_eq!(say(1.65), Verdict::Meets);
    assert_eq!(say(1.64), Verdict::NotProven);
    assert_eq!(say(0.0), Verdict::NotProven);
    assert_eq!(say(-1.64), Verdict::NotProven);
    assert_eq!(say(-1.65), Verdict::Fails);
}
