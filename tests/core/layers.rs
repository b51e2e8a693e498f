//! Who may know whom. The table of the crate's documentation stands here as data; every source file is
//! parsed, and each path in it (in `use`, in types, in expressions, inside macros) that names another
//! room is held against the table. Boundaries that nothing checks erode.

mod circles;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use proc_macro2::{Span, TokenStream, TokenTree};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// A room and the rooms that it may know beside itself.
const MAY_KNOW: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("progress", &[]),
    ("geometry", &["units"]),
    ("numeric", &["units", "geometry", "progress"]),
    ("work", &["progress"]),
    ("station", LEAVES),
    ("field", LEAVES),
    ("lamps", LEAVES),
    (
        "trials",
        &["station", "units", "geometry", "numeric", "progress"],
    ),
    (
        "files",
        &["station", "units", "geometry", "numeric", "progress"],
    ),
    (
        "assess",
        &[
            "trials", "station", "field", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "change",
        &[
            "assess", "station", "field", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "probing",
        &[
            "assess", "station", "field", "lamps", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "placement",
        &[
            "assess", "station", "field", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "repeat",
        &[
            "assess", "station", "field", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "upkeep",
        &[
            "assess", "station", "units", "geometry", "numeric", "progress",
        ],
    ),
    (
        "proof",
        &[
            "upkeep", "trials", "lamps", "field", "geometry", "numeric", "progress",
        ],
    ),
    (
        "record",
        &[
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "station",
            "field",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    (
        "sheet",
        &[
            "record",
            "proof",
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "trials",
            "station",
            "field",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    (
        // a bundle puts together what the sheet drew, what the record says, and readings as files are read
        "export",
        &[
            "sheet",
            "record",
            "proof",
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "files",
            "station",
            "field",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    (
        "session",
        &[
            "export",
            "sheet",
            "record",
            "proof",
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "trials",
            "files",
            "lamps",
            "station",
            "field",
            "work",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    (
        "cli",
        &[
            "export",
            "sheet",
            "record",
            "proof",
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "trials",
            "files",
            "lamps",
            "station",
            "field",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    (
        "gui",
        &[
            "session",
            "export",
            "sheet",
            "record",
            "proof",
            "assess",
            "placement",
            "change",
            "probing",
            "repeat",
            "upkeep",
            "trials",
            "files",
            "lamps",
            "station",
            "field",
            "work",
            "units",
            "geometry",
            "numeric",
            "progress",
        ],
    ),
    ("main", &["cli", "gui"]),
];

const LEAVES: &[&str] = &["units", "geometry", "numeric", "progress"];

/// Crates that only some rooms may touch.
const CRATES: &[(&[&str], &[&str])] = &[
    (
        &[
            "egui",
            "eframe",
            "egui_plot",
            "egui_extras",
            "rfd",
            "pollster",
        ],
        &["gui"],
    ),
    // reads the environment
    (&["etcetera", "env_logger"], &["cli", "gui", "main"]),
];

/// Rooms that may read the clock and the environment.
const AT_THE_EDGE: &[&str] = &["cli", "gui", "main"];

/// One breach: where and what.
#[derive(Debug, PartialEq)]
struct Breach {
    line: usize,
    what: String,
}

/// A file as the checker sees it: its module path below the crate's root, `["sheet", "map"]`.
struct Checker<'a> {
    room: &'a str,
    module: Vec<String>,
    in_tests: bool,
    breaches: Vec<Breach>,
}

impl Checker<'_> {
    fn breach(&mut self, at: Span, what: String) {
        let breach = Breach {
            line: at.start().line,
            what,
        };
        if !self.breaches.contains(&breach) {
            self.breaches.push(breach);
        }
    }

    /// A path as it stands in the file, `*` for a glob.
    fn path(&mut self, segments: &[String], at: Span) {
        let Some(first) = segments.first().map(String::as_str) else {
            return;
        };
        let inside = match first {
            "crate" => Some(segments[1..].to_vec()),
            "evenfield" if self.room == "main" => Some(segments[1..].to_vec()),
            "self" | "super" => {
                let ups = segments.iter().take_while(|s| *s == "super").count();
                let kept = self.module.len().saturating_sub(ups);
                let rest = segments
                    .iter()
                    .skip_while(|s| *s == "self" || *s == "super");
                Some(self.module[..kept].iter().chain(rest).cloned().collect())
            }
            _ => None,
        };
        match inside {
            Some(inside) => self.room_named(inside.first().map(String::as_str), segments, at),
            None => self.outside(segments, at),
        }
    }

    fn room_named(&mut self, named: Option<&str>, segments: &[String], at: Span) {
        let written = segments.join("::");
        let room = self.room;
        match named {
            None => {} // `pub(crate)`
            Some("*") => self.breach(at, format!("`{written}` names every room")),
            Some(named) if named == room => {}
            Some("lamps") if self.in_tests => {}
            Some(named) => {
                let known = MAY_KNOW.iter().any(|(r, _)| *r == named);
                let may = MAY_KNOW
                    .iter()
                    .any(|(r, may)| *r == room && may.contains(&named));
                // the root holds nothing but rooms; anything else is a macro or a module's own item
                if known && !may {
                    self.breach(at, format!("`{written}`: {room} may not know {named}"));
                }
            }
        }
    }

    fn outside(&mut self, segments: &[String], at: Span) {
        let written = segments.join("::");
        let room = self.room;
        for (crates, rooms) in CRATES {
            if crates.contains(&segments[0].as_str()) && !rooms.contains(&room) {
                self.breach(at, format!("`{written}`: {room} may not use this crate"));
            }
        }
        let is = |i: usize, name: &str| segments.get(i).is_some_and(|s| s == name);
        let environment = is(0, "std") && is(1, "env");
        let clock = segments.len() > 1 && segments.last().is_some_and(|s| s == "now");
        if (environment || clock) && !AT_THE_EDGE.contains(&room) {
            let what = if clock { "clock" } else { "environment" };
            self.breach(at, format!("`{written}`: {room} may not read the {what}"));
        }
    }

    fn use_tree(&mut self, tree: &syn::UseTree, before: &mut Vec<String>) {
        match tree {
            syn::UseTree::Path(path) => {
                before.push(path.ident.to_string());
                self.use_tree(&path.tree, before);
                before.pop();
            }
            syn::UseTree::Group(group) => {
                for tree in &group.items {
                    self.use_tree(tree, before);
                }
            }
            syn::UseTree::Name(name) => self.use_leaf(&name.ident, before),
            // the root under another name would hide what is named through it
            syn::UseTree::Rename(name) if before.is_empty() && name.ident == "crate" => {
                self.path(&["crate".into(), "*".into()], name.span());
            }
            syn::UseTree::Rename(name) => self.use_leaf(&name.ident, before),
            syn::UseTree::Glob(glob) => {
                before.push("*".into());
                self.path(before, glob.span());
                before.pop();
            }
        }
    }

    fn use_leaf(&mut self, ident: &syn::Ident, before: &mut Vec<String>) {
        before.push(ident.to_string());
        self.path(before, ident.span());
        before.pop();
    }

    /// Paths inside a macro's call, which stays tokens: runs of names joined by `::`.
    fn tokens(&mut self, tokens: TokenStream) {
        let mut run: Vec<String> = Vec::new();
        let mut start = Span::call_site();
        let mut colons = 0;
        for token in tokens {
            match token {
                TokenTree::Ident(ident) => {
                    if colons != 2 {
                        self.path(&std::mem::take(&mut run), start);
                        start = ident.span();
                    }
                    run.push(ident.to_string());
                    colons = 0;
                }
                TokenTree::Punct(p) if p.as_char() == ':' => colons += 1,
                other => {
                    self.path(&std::mem::take(&mut run), start);
                    colons = 0;
                    if let TokenTree::Group(group) = other {
                        self.tokens(group.stream());
                    }
                }
            }
        }
        self.path(&run, start);
    }

    fn within(&mut self, attributes: &[syn::Attribute], walk: impl FnOnce(&mut Self)) {
        let before = self.in_tests;
        self.in_tests |= is_for_tests(attributes);
        walk(self);
        self.in_tests = before;
    }
}

/// Whether attributes hold exactly `#[cfg(test)]`.
fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("cfg")
            && a.parse_args::<syn::Path>()
                .is_ok_and(|p| p.is_ident("test"))
    })
}

fn item_attributes(item: &syn::Item) -> &[syn::Attribute] {
    match item {
        syn::Item::Const(i) => &i.attrs,
        syn::Item::Enum(i) => &i.attrs,
        syn::Item::Fn(i) => &i.attrs,
        syn::Item::Impl(i) => &i.attrs,
        syn::Item::Mod(i) => &i.attrs,
        syn::Item::Static(i) => &i.attrs,
        syn::Item::Struct(i) => &i.attrs,
        syn::Item::Trait(i) => &i.attrs,
        syn::Item::Type(i) => &i.attrs,
        syn::Item::Use(i) => &i.attrs,
        _ => &[],
    }
}

impl<'ast> Visit<'ast> for Checker<'_> {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        self.within(item_attributes(item), |c| visit::visit_item(c, item));
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.within(&item.attrs, |c| visit::visit_impl_item_fn(c, item));
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        self.module.push(item.ident.to_string());
        visit::visit_item_mod(self, item);
        self.module.pop();
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.use_tree(&item.tree, &mut Vec::new());
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let segments: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        self.path(&segments, path.span());
        visit::visit_path(self, path); // types between angle brackets
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        self.tokens(call.tokens.clone());
        visit::visit_macro(self, call);
    }
}

/// The breaches of one file, whose module path is `module`; `in_tests` when all of it is for tests.
fn check(module: &[&str], source: &str, in_tests: bool) -> syn::Result<Vec<Breach>> {
    let file = syn::parse_file(source)?;
    let mut checker = Checker {
        room: module.first().copied().unwrap_or("lib"),
        module: module.iter().map(|&s| s.to_owned()).collect(),
        in_tests,
        breaches: Vec::new(),
    };
    checker.visit_file(&file);
    checker.breaches.sort_by_key(|b| b.line);
    Ok(checker.breaches)
}

/// Modules in files of their own that a file declares as `#[cfg(test)] mod name;`.
fn test_modules(module: &[&str], source: &str) -> syn::Result<Vec<String>> {
    Ok(syn::parse_file(source)?
        .items
        .iter()
        .filter_map(|item| match item {
            syn::Item::Mod(m) if m.content.is_none() && is_for_tests(&m.attrs) => Some(
                [module, &[m.ident.to_string().as_str()]]
                    .concat()
                    .join("::"),
            ),
            _ => None,
        })
        .collect())
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("the folder can be read") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// The module path of a file below `src`: `sheet/map.rs` and `sheet/map/mod.rs` are `sheet::map`.
fn module_path(below_src: &Path) -> Vec<String> {
    let mut module: Vec<String> = below_src
        .with_extension("")
        .iter()
        .map(|part| part.to_string_lossy().into_owned())
        .collect();
    if module.last().is_some_and(|name| name == "mod") {
        module.pop();
    }
    module
}

#[test]
fn no_room_knows_more_than_it_may() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&src, &mut files);
    files.sort();
    let sources: Vec<(PathBuf, Vec<String>, String)> = files
        .into_iter()
        .map(|file| {
            let below = file.strip_prefix(&src).expect("below src").to_owned();
            let source = std::fs::read_to_string(&file).expect("the file can be read");
            let module = module_path(&below);
            (below, module, source)
        })
        .filter(|(_, module, _)| module != &["lib"])
        .collect();
    assert!(sources.len() > 20, "where are the sources?");
    let parsed = |e: syn::Error, file: &Path| -> ! { panic!("src/{}: {e}", file.display()) };
    let mut for_tests = BTreeSet::new();
    for (file, module, source) in &sources {
        let module: Vec<&str> = module.iter().map(String::as_str).collect();
        for_tests.extend(test_modules(&module, source).unwrap_or_else(|e| parsed(e, file)));
    }
    let mut breaches = Vec::new();
    let rooms: BTreeSet<&str> = MAY_KNOW.iter().map(|(room, _)| *room).collect();
    for (file, module, source) in &sources {
        let module: Vec<&str> = module.iter().map(String::as_str).collect();
        if !rooms.contains(module[0]) {
            breaches.push(format!("src/{}: no room of the table", file.display()));
        }
        let in_tests = (1..=module.len()).any(|n| for_tests.contains(&module[..n].join("::")));
        for breach in check(&module, source, in_tests).unwrap_or_else(|e| parsed(e, file)) {
            breaches.push(format!(
                "src/{}:{}: {}",
                file.display(),
                breach.line,
                breach.what
            ));
        }
    }
    assert!(breaches.is_empty(), "\n{}", breaches.join("\n"));
}

#[test]
fn the_table_has_no_circle() {
    // Rooms stand in order: each may know only rooms that stand before it.
    for (i, (room, may)) in MAY_KNOW.iter().enumerate() {
        for other in *may {
            let before = MAY_KNOW[..i].iter().any(|(r, _)| r == other);
            assert!(before, "{room} may know {other}, which stands after it");
        }
    }
}

/// What the checker says of a source: lines and the ends of the sentences.
fn said(module: &[&str], source: &str) -> Vec<(usize, String)> {
    check(module, source, false)
        .expect("the source parses")
        .into_iter()
        .map(|b| (b.line, b.what))
        .collect()
}

fn lines(module: &[&str], source: &str) -> Vec<usize> {
    said(module, source)
        .into_iter()
        .map(|(line, _)| line)
        .collect()
}

#[test]
fn a_breach_is_named_with_its_line() {
    let source = "use crate::geometry::Point;\n\nuse crate::station::Station;\n";
    assert_eq!(
        said(&["field"], source),
        [(
            3,
            "`crate::station::Station`: field may not know station".into()
        )]
    );
    assert!(said(&["assess"], source).is_empty());
}

#[test]
fn groups_renames_and_globs_are_seen() {
    let grouped = "use crate::{\n    geometry::Point,\n    sheet::{drawing::Drawing as D, *},\n};";
    assert_eq!(lines(&["assess", "spot"], grouped), [3, 3]);
    assert_eq!(lines(&["assess"], "use crate::sheet as s;"), [1]);
    assert_eq!(lines(&["assess"], "use crate::*;"), [1]);
    assert_eq!(lines(&["assess"], "use crate as root;"), [1]);
    assert_eq!(lines(&["assess"], "use super::sheet::drawing;"), [1]);
    assert_eq!(lines(&["assess", "spot"], "use super::super::sheet;"), [1]);
    assert!(lines(&["assess", "spot"], "use super::sheet;").is_empty());
}

#[test]
fn inline_paths_are_seen() {
    let source = "
        fn f(s: &crate::session::Session) -> Vec<crate::gui::App> {
            let x = crate::cli::run();
            crate::units::show(x)
        }";
    assert_eq!(lines(&["export", "pdf"], source), [2, 2, 3]);
    let in_macro = "fn f() { println!(\"{}\", g(crate::cli::VERSION)); }";
    assert_eq!(lines(&["export"], in_macro), [1]);
    let nested = "mod inner { fn f() { super::super::cli::run(); super::own(); } }";
    assert_eq!(lines(&["export"], nested), [1]);
    let visible = "pub(crate) fn f() {} pub(super) fn g() {}";
    assert!(lines(&["export"], visible).is_empty());
}

#[test]
fn tests_may_know_lamps_and_nothing_else() {
    let source = "
        #[cfg(test)]
        mod tests {
            use crate::lamps::Lamp;
            use crate::station::Station;
        }
        use crate::lamps::Reader;";
    assert_eq!(lines(&["field"], source), [5, 7]);
    assert_eq!(
        test_modules(&["field"], "#[cfg(test)]\nmod truth;\nmod kriging;").expect("parses"),
        ["field::truth"]
    );
}

#[test]
fn the_clock_and_the_environment_are_left_alone() {
    let source = "
        use std::{env, time::Instant};
        fn f() {
            let t = Instant::now();
            let d = jiff::Zoned::now();
            let v = std::env::var(\"HOME\");
            let home = etcetera::home_dir();
        }";
    assert_eq!(lines(&["files"], source), [2, 4, 5, 6, 7]);
    assert_eq!(lines(&["session"], source), [2, 4, 5, 6, 7]);
    assert!(lines(&["cli"], source).is_empty());
    assert!(lines(&["files"], "const V: &str = env!(\"CARGO_PKG_VERSION\");").is_empty());
}

#[test]
fn only_the_window_knows_the_screen() {
    let source = "fn f(ui: &mut egui::Ui) { let p: egui_plot::PlotPoints; }";
    assert_eq!(lines(&["session"], source), [1, 1]);
    assert!(lines(&["gui", "panels"], source).is_empty());
}
