use super::*;
use crate::session::sample;
use crate::station::Edit;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// The slots over a station, with what wakes who looks at them.
struct Asking {
    slots: Assessing,
    woken: Receiver<()>,
    station: Arc<Station>,
    bench: Shared<Station>,
    findings: Arc<Vec<Finding>>,
    told: Arc<TrialsTold>,
}

/// What was made, by identity.
#[derive(Debug, Clone, PartialEq)]
struct MadeOnce {
    field: Same<Fitted>,
    spots: Same<Spots>,
    answer: Same<Answer>,
    looked: Same<Looked>,
    all_counted: Same<AllCounted>,
    outlook: Same<Outlook>,
}

impl Asking {
    fn new() -> Self {
        let (sender, woken) = channel();
        let sender = std::sync::Mutex::new(sender);
        let wake: Wake = Arc::new(move || {
            // nobody listens once the test has ended
            let _ = sender.lock().expect("never poisoned").send(());
        });
        let station = Arc::new(sample());
        let trials = station.trials.as_ref().expect("the sample has trials");
        Self {
            slots: Assessing::new(&wake),
            woken,
            bench: station.bench().into(),
            findings: Arc::new(station.check()),
            told: Arc::new(trials::analyse(trials, Default::default())),
            station,
        }
    }

    fn update(&mut self) {
        self.slots.update(&Of {
            station: &self.station,
            bench: &self.bench,
            survey: Some(0),
            findings: &self.findings,
            told: Some(&self.told),
            units: Units::default(),
            outlook: true,
        });
    }

    fn edit(&mut self, edit: Edit) {
        let mut station = Station::clone(&self.station);
        station.apply(edit).expect("sound");
        self.findings = Arc::new(station.check());
        self.bench = station.bench().into();
        self.station = Arc::new(station);
    }

    fn settled(&mut self) -> MadeOnce {
        self.update();
        while self.slots.is_answering() || self.slots.is_looking_further() {
            let longest = Duration::from_secs(120);
            self.woken.recv_timeout(longest).expect("work ends");
            self.update();
        }
        let slots = &self.slots;
        let same = |held: Held<'_, Arc<Answer>>| Same(held.current().expect("made").clone());
        MadeOnce {
            field: Same(slots.fit().current().expect("made").field.clone()),
            spots: Same(slots.spots().current().expect("made").clone()),
            answer: same(slots.answer()),
            looked: Same(slots.looked.held().current().expect("made").clone()),
            all_counted: Same(slots.all_counted.held().current().expect("made").clone()),
            outlook: Same(slots.outlook().current().expect("made").clone()),
        }
    }
}

#[test]
fn a_question_is_asked_again_only_where_what_it_is_asked_of_changed() {
    let mut asking = Asking::new();
    let first = asking.settled();
    asking.edit(Edit::Rename("Another name".into()));
    asking.edit(Edit::SetNotes("Nothing that counts".into()));
    assert_eq!(asking.settled(), first);

    // another limit is held against the same spots, and what was looked at beside them
    let mut limits = asking.station.limits.clone().expect("limits");
    limits.safety_factor_percent += 5.0;
    asking.edit(Edit::SetLimits(limits));
    let judged = asking.settled();
    let expected = MadeOnce {
        answer: judged.answer.clone(),
        outlook: judged.outlook.clone(),
        ..first.clone()
    };
    assert_eq!(judged, expected);
    assert!(judged.answer != first.answer && judged.outlook != first.outlook);

    // a note at a reading is no other reading
    let set = |station: &Station, change: &dyn Fn(&mut crate::station::Reading)| {
        let mut reading = station.surveys[0].readings[3].clone();
        change(&mut reading);
        Edit::SetReadings {
            survey: 0,
            row: 3,
            readings: vec![reading],
            name: "type".into(),
        }
    };
    asking.edit(set(&asking.station, &|r| r.note = "by the door".into()));
    let noted = asking.settled();
    assert!(noted.field == judged.field && noted.spots == judged.spots);
    assert!(noted.looked == judged.looked && noted.all_counted == judged.all_counted);

    // a site elsewhere asks for other spots of the same field
    let by = crate::geometry::Point::new(0.5, 0.0);
    asking.edit(Edit::MoveSites(0, by));
    let moved = asking.settled();
    assert!(moved.field == noted.field && moved.spots != noted.spots);
    assert!(moved.looked != noted.looked);

    // and another reading for all of it
    asking.edit(set(&asking.station, &|r| {
        r.irradiance = r.irradiance.map(|e| 1.001 * e);
    }));
    let read = asking.settled();
    assert!(read.field != moved.field && read.spots != moved.spots);
    assert!(read.all_counted != moved.all_counted);
}

#[test]
fn what_is_older_than_what_it_hangs_on_is_never_said_to_be_current() {
    let mut asking = Asking::new();
    let first = asking.settled();
    let mut limits = asking.station.limits.clone().expect("limits");
    limits.safety_factor_percent = 0.0;
    asking.edit(Edit::SetLimits(limits));
    asking.update();
    // until the verdict is there both are marked as older, and then what hangs on it until that is there too
    loop {
        let (answer, outlook) = (asking.slots.answer(), asking.slots.outlook());
        if let Held::Current(answer) = answer {
            assert!(Same(answer.clone()) != first.answer);
        } else {
            assert!(outlook.current().is_none());
        }
        if let Held::Current(outlook) = outlook {
            assert!(Same(outlook.clone()) != first.outlook);
            break;
        }
        let longest = Duration::from_secs(120);
        asking.woken.recv_timeout(longest).expect("work ends");
        asking.update();
    }
}
