//! No circle inside a room. A file leads to another one of its room when a path in it (a `use`, a type, a call, in a
//! macro too) names what that file defines. A name that is only handed on by `pub use` is followed to the file that
//! defines it: so a `mod.rs` that declares and hands on its children leads to none of them, and one that calls them may
//! hold nothing that they use. Code for tests is left out.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::Path;

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

use super::{is_for_tests, item_attributes, module_path, rust_files, test_modules};

type Module = Vec<String>;

/// The modules of the crate, what each can name, and the paths that stand in each.
#[derive(Default)]
struct Crate {
    /// The file of a module, by the file's own module; inline modules are in the file of the module around them.
    file_of: BTreeMap<Module, Module>,
    /// What `use` brings into a module: name, path.
    brought: BTreeMap<(Module, String), Vec<String>>,
    paths: Vec<(Module, Vec<String>)>,
    shown: BTreeMap<Module, String>,
}

impl Crate {
    fn add(&mut self, module: &[String], shown: String, source: &str) -> syn::Result<()> {
        let file = syn::parse_file(source)?;
        self.shown.insert(module.to_vec(), shown);
        self.file_of.insert(module.to_vec(), module.to_vec());
        let mut reader = Reader {
            all: self,
            file: module.to_vec(),
            module: module.to_vec(),
        };
        reader.visit_file(&file);
        Ok(())
    }

    /// The file that defines what a path in a module names; `None` outside the crate, and for a bare module.
    fn defined_in(&self, module: &[String], path: &[String], depth: usize) -> Option<&Module> {
        const DEEPEST: usize = 20;
        if depth > DEEPEST {
            return None;
        }
        let (first, rest) = path.split_first()?;
        let mut at = module.to_vec();
        let mut rest = match first.as_str() {
            "crate" => {
                at.clear();
                rest
            }
            "self" => rest,
            "super" => {
                at.pop();
                let ups = rest.iter().take_while(|s| *s == "super").count();
                at.truncate(at.len().saturating_sub(ups));
                &rest[ups..]
            }
            name => {
                let brought = self.brought.contains_key(&(at.clone(), name.to_owned()));
                if !brought && !self.file_of.contains_key(&child(module, name)) {
                    return None;
                }
                path
            }
        };
        while let Some((name, after)) = rest.split_first() {
            let inner = child(&at, name);
            if self.file_of.contains_key(&inner) {
                at = inner;
                rest = after;
                continue;
            }
            return match self.brought.get(&(at.clone(), name.clone())) {
                Some(path) if path[..] == [name.clone()] => None, // a crate from outside
                Some(path) => self.defined_in(&at, &[path, after].concat(), depth + 1),
                None => self.file_of.get(&at),
            };
        }
        None
    }

    /// Which file leads to which of the same room, and one path by which it does.
    fn leads(&self) -> BTreeMap<(Module, Module), String> {
        let mut leads = BTreeMap::new();
        for (module, path) in &self.paths {
            let (Some(from), Some(to)) = (
                self.file_of.get(module),
                self.defined_in(module, path, 0).cloned(),
            ) else {
                continue;
            };
            if *from != to && !to.is_empty() && from.first() == to.first() {
                let edge = (from.clone(), to);
                leads.entry(edge).or_insert_with(|| path.join("::"));
            }
        }
        leads
    }

    /// Circles of files, each as a sentence.
    fn circles(&self) -> Vec<String> {
        let leads = self.leads();
        let show = |module: &Module| {
            let shown = self.shown.get(module);
            shown.cloned().unwrap_or_else(|| module.join("::"))
        };
        let circles = circles_of(leads.keys()).into_iter().map(|circle| {
            let steps = circle.windows(2).map(|pair| {
                let by = &leads[&(pair[0].clone(), pair[1].clone())];
                format!("{} leads by `{by}` to {}", show(&pair[0]), show(&pair[1]))
            });
            steps.collect::<Vec<_>>().join(", ")
        });
        circles.collect()
    }
}

fn child(of: &[String], name: &str) -> Module {
    of.iter().cloned().chain([name.to_owned()]).collect()
}

/// Of each set of nodes that reach each other the shortest circle, its first node repeated at the end.
fn circles_of<'a>(edges: impl Iterator<Item = &'a (Module, Module)>) -> Vec<Vec<Module>> {
    let mut next: BTreeMap<&Module, Vec<&Module>> = BTreeMap::new();
    for (from, to) in edges {
        next.entry(from).or_default().push(to);
    }
    let mut seen: BTreeSet<&Module> = BTreeSet::new();
    let mut found: Vec<Vec<Module>> = Vec::new();
    for &start in next.keys() {
        if seen.contains(start) {
            continue;
        }
        let mut before: BTreeMap<&Module, &Module> = BTreeMap::new();
        let mut wait = VecDeque::from([start]);
        while let Some(at) = wait.pop_front() {
            for &to in next.get(at).into_iter().flatten() {
                if !before.contains_key(to) {
                    before.insert(to, at);
                    wait.push_back(to);
                }
            }
        }
        if !before.contains_key(start) {
            continue;
        }
        let mut circle = vec![start];
        let mut at = before[start];
        while at != start {
            circle.push(at);
            at = before[at];
        }
        circle.push(start);
        circle.reverse();
        seen.extend(&circle);
        found.push(circle.into_iter().cloned().collect());
    }
    found
}

struct Reader<'a> {
    all: &'a mut Crate,
    file: Module,
    module: Module,
}

impl Reader<'_> {
    fn path(&mut self, path: Vec<String>) {
        if !path.is_empty() {
            self.all.paths.push((self.module.clone(), path));
        }
    }

    fn bring(&mut self, tree: &syn::UseTree, before: &[String], handed_on: bool) {
        let with = |ident: &syn::Ident| child(before, &ident.to_string());
        let (name, path) = match tree {
            syn::UseTree::Path(path) => {
                return self.bring(&path.tree, &with(&path.ident), handed_on);
            }
            syn::UseTree::Group(group) => {
                let each = group.items.iter();
                return each.for_each(|tree| self.bring(tree, before, handed_on));
            }
            syn::UseTree::Glob(_) => return self.path(child(before, "*")),
            syn::UseTree::Name(name) if name.ident == "self" => {
                let Some(name) = before.last() else { return };
                (name.clone(), before.to_vec())
            }
            syn::UseTree::Name(name) => (name.ident.to_string(), with(&name.ident)),
            syn::UseTree::Rename(name) => (name.rename.to_string(), with(&name.ident)),
        };
        if !handed_on {
            self.path(path.clone());
        }
        self.all.brought.insert((self.module.clone(), name), path);
    }

    /// Paths inside a macro's call, which stays tokens.
    fn tokens(&mut self, tokens: TokenStream) {
        let (mut run, mut colons) = (Vec::new(), 0);
        for token in tokens {
            match token {
                TokenTree::Ident(ident) => {
                    if colons != 2 {
                        self.path(std::mem::take(&mut run));
                    }
                    run.push(ident.to_string());
                    colons = 0;
                }
                TokenTree::Punct(p) if p.as_char() == ':' => colons += 1,
                other => {
                    self.path(std::mem::take(&mut run));
                    colons = 0;
                    if let TokenTree::Group(group) = other {
                        self.tokens(group.stream());
                    }
                }
            }
        }
        self.path(run);
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        if !is_for_tests(item_attributes(item)) {
            visit::visit_item(self, item);
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        if !is_for_tests(&item.attrs) {
            visit::visit_impl_item_fn(self, item);
        }
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if item.content.is_some() {
            self.module.push(item.ident.to_string());
            let here = (self.module.clone(), self.file.clone());
            self.all.file_of.insert(here.0, here.1);
            visit::visit_item_mod(self, item);
            self.module.pop();
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let handed_on = !matches!(item.vis, syn::Visibility::Inherited);
        self.bring(&item.tree, &[], handed_on);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.path(path.segments.iter().map(|s| s.ident.to_string()).collect());
        visit::visit_path(self, path);
    }

    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {} // `pub(in crate::field)` uses nothing

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        self.tokens(call.tokens.clone());
        visit::visit_macro(self, call);
    }
}

#[test]
fn no_circle_inside_a_room() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&src, &mut files);
    files.sort();
    let read: Vec<(String, Module, String)> = files
        .iter()
        .map(|file| {
            let below = file.strip_prefix(&src).expect("below src");
            let source = std::fs::read_to_string(file).expect("the file can be read");
            let mut module = module_path(below);
            if module == ["lib"] {
                module.clear();
            }
            (below.display().to_string(), module, source)
        })
        .collect();
    let for_tests: BTreeSet<String> = read
        .iter()
        .flat_map(|(_, module, source)| {
            let module: Vec<&str> = module.iter().map(String::as_str).collect();
            test_modules(&module, source).expect("the source parses")
        })
        .collect();
    let mut all = Crate::default();
    for (file, module, source) in read {
        if !(1..=module.len()).any(|n| for_tests.contains(&module[..n].join("::"))) {
            all.add(&module, file, &source).expect("the source parses");
        }
    }
    assert!(all.leads().len() > 200, "where are the paths?");
    let circles = all.circles();
    assert!(circles.is_empty(), "\n{}", circles.join("\n"));
}

fn circles(files: &[(&str, &str)]) -> Vec<String> {
    let mut all = Crate::default();
    for (file, source) in files {
        let module = module_path(Path::new(file));
        all.add(&module, (*file).to_owned(), source)
            .expect("parses");
    }
    all.circles()
}

#[test]
fn a_circle_is_named_by_its_paths() {
    let files = [
        ("room/mod.rs", "mod a; mod b;"),
        ("room/a.rs", "use super::b::B; pub struct A;"),
        (
            "room/b.rs",
            "pub struct B; fn f() { println!(\"{}\", crate::room::a::A); }",
        ),
    ];
    let a_to_b = "room/a.rs leads by `super::b::B` to room/b.rs";
    let b_to_a = "room/b.rs leads by `crate::room::a::A` to room/a.rs";
    assert_eq!(circles(&files), [format!("{a_to_b}, {b_to_a}")]);
}

#[test]
fn a_parent_that_hands_on_is_no_part_of_a_circle_and_one_that_calls_is() {
    let child = ("room/a.rs", "use super::Shared; pub struct A(Shared);");
    let handing_on = ("room/mod.rs", "mod a; pub use a::A; pub struct Shared;");
    assert!(circles(&[handing_on, child]).is_empty());
    let calling = (
        "room/mod.rs",
        "mod a; pub use a::A; pub struct Shared; fn f(a: A) {}",
    );
    assert_eq!(circles(&[calling, child]).len(), 1);
    // handed on by the parent, defined beside: that is where the path leads
    let beside = [
        ("room/mod.rs", "mod a; mod b; pub use b::B;"),
        ("room/a.rs", "use super::B;"),
        ("room/b.rs", "pub struct B; use crate::room::a;"),
    ];
    assert!(circles(&beside).is_empty());
    let back = [
        beside[0],
        ("room/a.rs", "use super::B; pub fn f() {}"),
        ("room/b.rs", "pub struct B; fn g() { super::a::f() }"),
    ];
    assert_eq!(circles(&back).len(), 1);
}

#[test]
fn code_for_tests_is_left_out() {
    let files = [
        ("room/mod.rs", "mod a; mod b;"),
        ("room/a.rs", "use super::b::B; pub struct A;"),
        (
            "room/b.rs",
            "pub struct B; #[cfg(test)] mod tests { use crate::room::a::A; }",
        ),
    ];
    assert!(circles(&files).is_empty());
}
