//! Few runs of the study with known truth, of which `cargo bench --bench cures` makes many: what is stated to be
//! wrong in at most 5 % is not wrong more often than chance allows.

#[path = "../bench/cures/study.rs"]
mod study;

use study::{JUDGED, REACHING, Rate, SHORT_OF_IT, TEN_SHORT, Truth, UNSEEN};

const RUNS: usize = 60;
const SEED: u64 = 7;

/// At a true rate of 5 % a run of 60 shows more than 8 once in 300 times.
fn is_rare(rate: Rate, what: &str) {
    assert!(rate.n == RUNS && rate.hits <= 8, "{what}: {rate}");
}

#[test]
fn the_bound_of_the_least_level_covers_it() {
    let mut all = (0, 0);
    let known = REACHING.iter().flat_map(|(_, left_out, designs)| {
        let with = move |design| (design, Some(left_out));
        designs.iter().map(with)
    });
    for (design, left_out) in known.chain(UNSEEN.iter().map(|d| (d, None))) {
        let found = study::outcome(design, left_out, RUNS, SEED);
        is_rare(found.wrong, found.name);
        // it is of use: levels are given, and not far above the truth
        if !matches!(design.truth, Truth::TwoSteps(_)) {
            assert!(found.given.share() > 0.9 && found.over < 2.0, "{found:?}");
        }
        if let Some((wrong, _)) = found.other {
            is_rare(wrong, found.name);
        }
        all = (all.0 + found.wrong.hits, all.1 + found.wrong.n);
    }
    let all = Rate {
        hits: all.0,
        n: all.1,
    };
    assert!(all.interval().1 < 0.05, "{all}");
}

#[test]
fn further_parts_bring_the_bound_down_as_far_as_is_said() {
    let design = &REACHING[0].2[0];
    let found = study::furthered(design, RUNS, SEED);
    assert!(found.proposed.share() > 0.5, "{found:?}");
    assert!(found.given.share() > 0.9, "{found:?}");
    assert!(found.after < found.before, "{found:?}");
    assert!((found.as_expected - 1.0).abs() < 0.15, "{found:?}");
    assert!(found.wrong.hits <= 8, "{found:?}");
}

#[test]
fn a_ladder_short_of_full_cure_rarely_gives_a_level() {
    for design in SHORT_OF_IT {
        let found = study::outcome(design, None, RUNS, SEED);
        assert!(found.truth > 60.0);
        is_rare(found.given, found.name);
    }
}

#[test]
fn a_level_ten_percent_short_is_rarely_called_full_cure() {
    for design in TEN_SHORT {
        is_rare(study::ten_short(design, RUNS, SEED), design.name);
    }
}

#[test]
fn a_confirmed_level_of_pass_and_fail_is_rarely_too_low() {
    for &(name, truth, parts) in JUDGED {
        let (given, wrong, _) = study::judged(truth, parts, RUNS, SEED);
        is_rare(wrong, name);
        assert!(given.hits > 0, "{name}: {given}");
    }
}

#[test]
fn the_interval_of_the_power_holds_it() {
    let held = study::power_held(0.7, Truth::FirstOrder(30.0), 30, SEED);
    assert!(held.hits >= 25, "{held}");
}

#[test]
fn so_does_that_of_parts_that_pass_or_fail() {
    let held = study::judged_power_held(0.7, Truth::LogNormal(30.0, 0.5), 24, SEED);
    assert!(held.hits >= 20, "{held}");
}
