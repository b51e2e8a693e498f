//! Station files, journals and files of readings changed at random: whatever is in them, reading ends
//! within a second, takes no more than 256 MB and does not panic; and what is read is sound.
//!
//! A few thousand run with the ordinary tests; a million with
//!
//!     cargo test --no-default-features --test core mutations::a_million -- --ignored --nocapture
//!
//! A case that fails is kept in the system's folder for temporary files under `evenfield-mutations`.

use std::io::{Cursor, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use evenfield::files::{
    self, Begin, Cut, Encoding, JournalLine, Layout, List, Raw, Understanding, parse_journal,
};
use evenfield::geometry::{Place, Point, Shape};
use evenfield::station::{Difference, Edit, PlanLayout, Position, Reading, Station};
use jiff::civil::date;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const LONGEST: Duration = Duration::from_secs(1);
const MOST_MEGABYTES: usize = 256;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Station,
    Journal,
    Text,
    Workbook,
}

/// What is changed, whole.
struct Seeds {
    stations: Vec<Vec<u8>>,
    journals: Vec<Vec<u8>>,
    texts: Vec<Vec<u8>>,
    workbooks: Vec<Vec<u8>>,
}

fn station() -> Station {
    let shape = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let mut station = Station::new("bench \"7\"", shape, 75.0);
    station.plan.layout = PlanLayout::ByHand(
        (0..4)
            .map(|i| Position {
                name: format!("A{i}"),
                at: Point::new(20.0 * f64::from(i), 30.0),
            })
            .collect(),
    );
    let mut survey = station.new_survey("first", date(2026, 3, 9));
    survey.readings = (0..6)
        .map(|i| Reading {
            position: format!("A{i}"),
            ..Reading::new(Place::new(10.0 * f64::from(i), 20.0, 30.0), Some(81.25))
        })
        .collect();
    station.surveys.push(survey.into());
    station
}

impl Seeds {
    fn new() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let all = |folder: &str, wanted: &dyn Fn(&str) -> bool| -> Vec<Vec<u8>> {
            let entries = std::fs::read_dir(root.join(folder)).expect("a folder");
            let mut paths: Vec<_> = entries.map(|e| e.expect("an entry").path()).collect();
            paths.sort();
            paths.retain(|path| {
                let small = path.metadata().is_ok_and(|m| m.len() < 40_000);
                small && wanted(&path.extension().unwrap_or_default().to_string_lossy())
            });
            paths
                .iter()
                .map(|path| std::fs::read(path).expect("read"))
                .collect()
        };
        let whole = station();
        let mut stations = all("sample-maps", &|e| e == "ron");
        stations.extend(all("tests/golden", &|e| e == "ron"));
        stations.push(files::write(&whole).expect("sound").into_bytes());
        let mut undone = whole.clone();
        undone.surveys[0].readings.remove(3);
        let entries = [
            JournalLine::Begin(Begin {
                path: Some("/maps/bench.ron".into()),
                stamp: None,
                is_sample: false,
                station: whole.clone().into(),
                replaces: Vec::new(),
            }),
            JournalLine::Edit(
                Box::new(Edit::SetReadings {
                    survey: 0,
                    row: 2,
                    readings: vec![Reading::new(Place::new(1.0, 2.0, 3.0), Some(80.5))],
                    name: "type irradiance in row 3".into(),
                }),
                None,
                date(2026, 3, 9),
            ),
            JournalLine::Edit(
                Box::new(Edit::MovePosition(1, Point::new(5.0, 6.0))),
                Some(3),
                date(2026, 3, 9),
            ),
            JournalLine::Other(Box::new(Difference::of(&undone, &whole))),
            JournalLine::Whole(whole.into()),
        ];
        let lines: Vec<String> = entries.iter().map(|e| e.line().expect("text")).collect();
        let journal = format!("evenfield journal 1\n{}", lines.concat());
        let list = "position;x_mm;y_mm;height_mm;irradiance_mw_cm2;repeat;minute;excluded;note\n\
                    A1;12,5;20;40;81,2;1;0,5;no;\n\"A;2\";62,5;20;40;;2;1;hand;\"a \"\"b\"\" c\"\n";
        let blocks = "irradiance_mw_cm2,height_mm,20\ny_mm\\x_mm,10,50\n10,81,85\n60,,84\n\n\
                      height 40 mm\ny_mm\\x_mm,10,50\n10,71,75\n";
        let utf_16 = format!("\u{feff}{list}")
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        let mut texts = all("tests/bad-input", &|e| matches!(e, "csv" | "tsv"));
        texts.extend([
            list.into(),
            list.replace(';', "\t").into_bytes(),
            blocks.into(),
            utf_16,
        ]);
        Self {
            stations,
            journals: vec![journal.into_bytes()],
            texts,
            workbooks: all("tests/reference/data/xlsx", &|e| e == "xlsx"),
        }
    }

    /// One changed file.
    fn case(&self, number: u64) -> (Kind, Vec<u8>) {
        let mut chance = ChaCha8Rng::seed_from_u64(number);
        let chance = &mut chance;
        let (kind, seeds) = match number % 10 {
            0..=2 => (Kind::Station, &self.stations),
            3 | 4 => (Kind::Journal, &self.journals),
            5..=7 => (Kind::Text, &self.texts),
            _ => (Kind::Workbook, &self.workbooks),
        };
        let seed = seeds.choose(chance).expect("seeds");
        let changed = match kind {
            Kind::Journal if chance.random_bool(0.7) => behind_sums(seed, chance),
            Kind::Workbook if chance.random_bool(0.7) => inside(seed, chance),
            _ => change(seed.clone(), chance),
        };
        (kind, changed)
    }
}

/// Texts that readers stumble over.
const WORDS: &[&str] = &[
    "NaN",
    "inf",
    "-inf",
    "1e999",
    "-1",
    "0",
    "4294967296",
    "99999999999999999999",
    "1e-320",
    "\"",
    "\\",
    "(",
    ")",
    "((((((((((((((((",
    "[",
    "]",
    "{",
    ",",
    ";",
    "\t",
    "\n",
    "\r",
    "\0",
    "\u{feff}",
    "ä",
    "\u{2212}",
    "//",
    "/*",
    "r#\"",
    "Some(",
    "None",
    "x_mm",
    "height_mm",
    "sep=",
    "1,234.5",
    "<c r=\"XFD1048576\"><v>1</v></c>",
    "<row r=\"0\">",
    "r=\"A0\"",
    "r=\"ZZZZZZZ9999999999\"",
    "t=\"s\"",
    "<v>99999999</v>",
    "&#x0;",
    "&lt;",
    "<!DOCTYPE a [<!ENTITY b \"c\">]>",
    "]]>",
];

/// Some changes at random places: bytes, pieces, words that mean something.
fn change(mut bytes: Vec<u8>, chance: &mut ChaCha8Rng) -> Vec<u8> {
    for _ in 0..chance.random_range(1..8) {
        let len = bytes.len();
        let at = chance.random_range(0..len + 1);
        let end = (at + chance.random_range(0..40)).min(len);
        match chance.random_range(0..9) {
            0 if at < len => bytes[at] ^= 1 << chance.random_range(0..8),
            1 if at < len => bytes[at] = chance.random(),
            2 => bytes.insert(at, chance.random()),
            3 => drop(bytes.drain(at..end)),
            4 if chance.random_bool(0.3) => bytes.truncate(at),
            5 => {
                let piece = bytes[at..end].to_vec();
                let to = chance.random_range(0..len + 1);
                bytes.splice(to..to, piece);
            }
            6 => {
                let piece = bytes[at..end].repeat(chance.random_range(1..200));
                bytes.splice(at..at, piece);
            }
            7 | 8 => {
                let word = WORDS.choose(chance).expect("words");
                let end = if chance.random_bool(0.5) {
                    at
                } else {
                    end.min(at + word.len())
                };
                bytes.splice(at..end, word.bytes());
            }
            _ => {}
        }
    }
    bytes
}

/// A journal whose lines are changed and have their sums, so that what is behind them is read.
fn behind_sums(bytes: &[u8], chance: &mut ChaCha8Rng) -> Vec<u8> {
    let mut lines: Vec<Vec<u8>> = bytes.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
    let at = chance.random_range(1..lines.len() - 1);
    let said = change(lines[at][9..].to_vec(), chance);
    lines[at] = format!("{:08x} ", crc32fast::hash(&said)).into_bytes();
    lines[at].extend(said);
    lines.join(&b'\n')
}

/// A workbook one of whose parts is changed before it is packed.
fn inside(bytes: &[u8], chance: &mut ChaCha8Rng) -> Vec<u8> {
    let mut packed = zip::ZipArchive::new(Cursor::new(bytes)).expect("a sound workbook");
    // sheets and shared texts more often than the rest
    let wanted = if chance.random_bool(0.7) { "sheet" } else { "" };
    let names: Vec<String> = (packed.file_names())
        .map(|name| name.expect("text").into_owned())
        .collect();
    let fitting: Vec<&String> = names.iter().filter(|n| n.contains(wanted)).collect();
    let chosen = (*fitting.choose(chance).expect("parts")).clone();
    let mut made = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for name in &names {
        let mut part = Vec::new();
        let mut read = packed.by_name(name).expect("a part");
        read.read_to_end(&mut part).expect("unpacked");
        if *name == chosen {
            part = change(part, chance);
        }
        made.start_file(name, stored).expect("begun");
        made.write_all(&part).expect("written");
    }
    made.finish().expect("packed").into_inner()
}

/// Reads a file as the program does and looks at what came of it; whether anything did.
fn read(kind: Kind, bytes: &[u8], number: u64) -> bool {
    match kind {
        Kind::Station => files::parse(bytes).is_ok_and(|station| {
            assert_eq!(station.unsound(), []);
            let _ = station.check();
            let text = files::write(&station).expect("what is read can be written");
            assert_eq!(files::parse(text.as_bytes()).as_ref(), Ok(&station));
            true
        }),
        Kind::Journal => parse_journal(bytes).is_ok_and(|journal| {
            journal.is_some_and(|journal| {
                let mut station = Station::clone(&journal.begin.station);
                for entry in journal.changes {
                    match entry {
                        JournalLine::Edit(edit, ..) => {
                            let name = edit.name(&station);
                            if station.apply(*edit).is_err() {
                                return true;
                            }
                            assert!(!name.is_empty());
                        }
                        JournalLine::Other(difference) => match difference.restored(&station) {
                            Some(other) if other.unsound().is_empty() => station = other,
                            _ => return true,
                        },
                        JournalLine::Whole(whole) => station = Station::clone(&whole),
                        JournalLine::Begin(_) => unreachable!("only the first entry"),
                    }
                }
                assert_eq!(station.unsound(), []);
                let _ = station.check();
                true
            })
        }),
        Kind::Text | Kind::Workbook => Raw::new(bytes.to_vec()).is_ok_and(|raw| {
            let sound = |understanding: &Understanding| {
                understanding.read(&raw).is_ok_and(|table| {
                    assert!(!table.readings.is_empty());
                    for reading in &table.readings {
                        let numbers = [reading.x, reading.y, reading.height];
                        assert!(numbers.iter().all(|number| number.is_finite()));
                    }
                    true
                })
            };
            let guessed = sound(&Understanding::guess(
                &raw,
                number.is_multiple_of(2).then_some(20.0),
            ));
            // other ways than the guess
            let other = Understanding {
                decimal: None,
                layout: Layout::List(List::under(&raw, 0, None, Some(1.0))),
            };
            sound(&other);
            sound(&Understanding {
                decimal: None,
                layout: Layout::Blocks(files::Blocks::find(&raw)),
            });
            if number.is_multiple_of(7) {
                let encoding = Encoding::ALL[(number % 4) as usize];
                let cut = Cut {
                    encoding,
                    separator: ';',
                };
                let _ = raw
                    .cut(cut)
                    .map(|raw| Understanding::guess(&raw, None).read(&raw));
            }
            guessed
        }),
    }
}

/// The most memory that this process has had at once, MB, where the system says it.
fn most_memory() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().strip_suffix(" kB")?.parse::<usize>().ok()? / 1024)
}

fn keep(number: u64, bytes: &[u8]) {
    let folder = std::env::temp_dir().join("evenfield-mutations");
    let _ = std::fs::create_dir_all(&folder);
    let _ = std::fs::write(folder.join(number.to_string()), bytes);
}

fn run(cases: std::ops::Range<u64>, threads: usize) {
    let begun = Instant::now();
    let before = most_memory();
    let seeds = Seeds::new();
    let next = AtomicU64::new(cases.start);
    let [read_whole, panics, slow] = [(); 3].map(|()| AtomicUsize::new(0));
    let longest = AtomicU64::new(0);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= cases.end {
                        return;
                    }
                    let (kind, bytes) = seeds.case(number);
                    let once = || {
                        let begun = Instant::now();
                        let ended = catch_unwind(AssertUnwindSafe(|| read(kind, &bytes, number)));
                        (ended, begun.elapsed())
                    };
                    let (ended, mut took) = once();
                    if took > LONGEST {
                        // or the machine was busy with something else
                        took = took.min(once().1).min(once().1);
                    }
                    longest.fetch_max(took.as_micros() as u64, Ordering::Relaxed);
                    match ended {
                        Ok(whole) => {
                            read_whole.fetch_add(usize::from(whole), Ordering::Relaxed);
                        }
                        Err(_) => {
                            eprintln!("case {number}, {kind:?}: a panic");
                            panics.fetch_add(1, Ordering::Relaxed);
                            keep(number, &bytes);
                        }
                    }
                    if took > LONGEST {
                        eprintln!("case {number}, {kind:?}: {took:?}");
                        slow.fetch_add(1, Ordering::Relaxed);
                        keep(number, &bytes);
                    }
                }
            });
        }
    });
    let [read_whole, panics, slow] =
        [read_whole, panics, slow].map(|count| count.load(Ordering::Relaxed));
    println!(
        "{} cases in {:.0?}: {read_whole} read, {panics} panics, {slow} over {LONGEST:?}, longest {} ms, memory {before:?} to {:?} MB",
        cases.end - cases.start,
        begun.elapsed(),
        longest.load(Ordering::Relaxed) / 1000,
        most_memory()
    );
    assert_eq!((panics, slow), (0, 0));
    assert!(read_whole > 0, "the changes leave nothing to read");
    if threads > 1
        && let (Some(before), Some(after)) = (before, most_memory())
    {
        assert!(after - before <= MOST_MEGABYTES, "{before} to {after} MB");
    }
}

#[test]
fn a_few_thousand_changed_files() {
    run(0..3_000, 1);
}

#[test]
#[ignore = "some minutes; the command is above"]
fn a_million() {
    let [from, to] = ["FROM", "TO"].map(|name| {
        let said = std::env::var(format!("EVENFIELD_TEST_MUTATIONS_{name}")).ok();
        said.and_then(|text| text.parse().ok())
    });
    run(from.unwrap_or(0)..to.unwrap_or(1_000_000), 2);
}
