//! No two files of the sources need each other, by whatever way round: what each file names by
//! `use` and by path, followed to the file that has it. What a file only passes on with `pub use`
//! is no need of its own: whoever takes the name there needs the file behind it.

use std::collections::{BTreeMap, BTreeSet};

use crate::rooms::code;

type Path = Vec<String>;

struct Module {
    file: String,
    /// What it takes, by the name it has here; and whether others may take it here.
    taken: BTreeMap<String, (Path, bool)>,
    /// Paths that it names where it uses them.
    named: Vec<Path>,
}

/// The words of a source: names, `::`, and single signs.
fn words(lines: &[String]) -> Vec<String> {
    let text = lines.join("\n");
    let mut words = Vec::new();
    let mut rest = text.as_str();
    while let Some(first) = rest.chars().next() {
        let is_name = |c: char| c.is_alphanumeric() || c == '_';
        let length = if is_name(first) {
            rest.find(|c| !is_name(c)).unwrap_or(rest.len())
        } else if rest.starts_with("::") {
            2
        } else {
            first.len_utf8()
        };
        if !first.is_whitespace() {
            words.push(rest[..length].to_string());
        }
        rest = &rest[length..];
    }
    words
}

/// The module of a file: `model/plan/days.rs` is `model`, `plan`, `days`.
fn module_of(file: &str) -> Path {
    let path = file.trim_end_matches(".rs").trim_end_matches("/mod");
    if path == "lib" {
        return Path::new();
    }
    path.split('/').map(String::from).collect()
}

/// Reads one tree of names after `use`, up to what ends it, with what stands before it.
fn read_tree(words: &mut std::slice::Iter<String>, before: &Path, found: &mut Vec<(String, Path)>) {
    let mut path = before.clone();
    let mut name = None;
    while let Some(word) = words.next() {
        match word.as_str() {
            "::" => {}
            "{" => {
                let mut others = words.clone();
                loop {
                    read_tree(&mut others, &path, found);
                    // What ended the tree is the word before those that are left.
                    let at = words.as_slice().len() - others.as_slice().len();
                    if at == 0 || words.as_slice()[at - 1] != "," {
                        break;
                    }
                }
                *words = others;
                path.clear();
            }
            "," | "}" | ";" => break,
            "as" => name = words.next().cloned(),
            "self" if path.len() > before.len() || !before.is_empty() => {}
            word => path.push(word.to_string()),
        }
    }
    if let Some(last) = path.last() {
        found.push((name.unwrap_or_else(|| last.clone()), path.clone()));
    }
}

fn read(file: String, lines: &[String]) -> Module {
    let words = words(lines);
    let (mut taken, mut named) = (BTreeMap::new(), Vec::new());
    let mut rest = words.iter();
    let mut before = "";
    while let Some(word) = rest.next() {
        if word == "use" {
            let passed_on = before == "pub" || before == ")";
            let mut found = Vec::new();
            read_tree(&mut rest, &Path::new(), &mut found);
            taken.extend((found.into_iter()).map(|(name, path)| (name, (path, passed_on))));
        } else if before != "::" && rest.as_slice().first().is_some_and(|next| next == "::") {
            let mut path = vec![word.clone()];
            let mut further = rest.clone();
            while further.next().is_some_and(|next| next == "::") {
                path.extend(further.next().cloned());
            }
            named.push(path);
        }
        before = word;
    }
    Module { file, taken, named }
}

/// A path from the top of the crate; none where it leads out of the crate.
fn absolute(path: &Path, from: &Path, modules: &BTreeMap<Path, Module>) -> Option<Path> {
    let (first, rest) = path.split_first()?;
    let (base, rest): (Path, &[String]) = match first.as_str() {
        "crate" => (Path::new(), rest),
        "self" => (from.clone(), rest),
        "super" => {
            let ups = path.iter().take_while(|name| *name == "super").count();
            (from[..from.len().checked_sub(ups)?].to_vec(), &path[ups..])
        }
        _ => {
            let below = [&from[..], std::slice::from_ref(first)].concat();
            if !modules.contains_key(&below) {
                return None;
            }
            (from.clone(), &path[..])
        }
    };
    Some([&base[..], rest].concat())
}

/// The module that has what a path from the top names.
fn home(path: &Path, modules: &BTreeMap<Path, Module>) -> Path {
    let depth = (0..=path.len())
        .rev()
        .find(|depth| modules.contains_key(&path[..*depth]))
        .expect("the top of the crate is a module");
    let module = path[..depth].to_vec();
    let Some(name) = path.get(depth) else {
        return module;
    };
    let passed_on = modules[&module].taken.get(name).filter(|taken| taken.1);
    match passed_on.and_then(|(path, _)| absolute(path, &module, modules)) {
        Some(path) if path.len() > 1 || modules.contains_key(&path) => home(&path, modules),
        _ => module,
    }
}

/// Which file needs which.
fn needs(modules: &BTreeMap<Path, Module>) -> BTreeMap<&str, BTreeSet<&str>> {
    let of = |(at, module): (&Path, &Module)| {
        let uses = (module.taken.values()).filter(|taken| !taken.1);
        let paths = uses.map(|(path, _)| path.clone());
        // A path may begin with a name that was taken: `use super::sets;` and then `sets::Block`.
        let named = module.named.iter().map(|path| {
            let known = module.taken.get(&path[0]).map(|taken| &taken.0[..]);
            match known {
                Some(known) => [known, &path[1..]].concat(),
                None => path.clone(),
            }
        });
        paths
            .chain(named)
            .filter_map(|path| absolute(&path, at, modules))
            .map(|path| modules[&home(&path, modules)].file.as_str())
            .filter(|file| *file != module.file)
            .collect()
    };
    (modules.iter())
        .map(|module| (module.1.file.as_str(), of(module)))
        .collect()
}

/// Every file that one can come to from a file.
fn reached<'f>(from: &'f str, needs: &BTreeMap<&'f str, BTreeSet<&'f str>>) -> BTreeSet<&'f str> {
    let mut reached = BTreeSet::new();
    let mut open = vec![from];
    while let Some(file) = open.pop() {
        for next in &needs[file] {
            if reached.insert(*next) {
                open.push(next);
            }
        }
    }
    reached
}

fn modules(sources: impl IntoIterator<Item = (String, Vec<String>)>) -> BTreeMap<Path, Module> {
    (sources.into_iter())
        .map(|(file, lines)| (module_of(&file), read(file, &lines)))
        .collect()
}

/// Circles, each as its files.
fn circles(needs: &BTreeMap<&str, BTreeSet<&str>>) -> BTreeSet<String> {
    let reached: BTreeMap<&str, BTreeSet<&str>> = (needs.keys())
        .map(|file| (*file, reached(file, needs)))
        .collect();
    (reached.iter())
        .filter(|(file, to)| to.contains(*file))
        .map(|(file, to)| {
            let back = |other: &&&str| reached[**other].contains(file);
            let circle: Vec<&str> = to.iter().filter(back).copied().collect();
            circle.join(", ")
        })
        .collect()
}

#[test]
fn no_files_need_each_other() {
    let sources = code().into_iter().map(|(file, (_, lines))| (file, lines));
    let modules = modules(sources);
    let needs = needs(&modules);
    let arrows: usize = needs.values().map(BTreeSet::len).sum();
    assert!(
        arrows > 1000,
        "only {arrows} arrows were seen: is the reading broken?"
    );
    let found = circles(&needs);
    assert!(found.is_empty(), "files need each other:\n{found:#?}");
}

#[test]
fn a_circle_is_seen_by_use_by_path_and_through_what_is_passed_on() {
    let found = |files: &[(&str, &str)]| {
        let lines = |text: &str| text.lines().map(String::from).collect();
        let sources = files
            .iter()
            .map(|(file, text)| (file.to_string(), lines(text)));
        circles(&needs(&modules(sources)))
    };
    let top = ("lib.rs", "pub mod a; pub mod b;");
    let room = |one, other| [top, ("a.rs", one), ("b.rs", other)];
    let circle = BTreeSet::from(["a.rs, b.rs".to_string()]);
    assert_eq!(
        found(&room("use crate::b::{B, C};", "struct B;")),
        BTreeSet::new()
    );
    assert_eq!(
        found(&room("use crate::b::B;", "use super::a::{self, A};")),
        circle
    );
    assert_eq!(
        found(&room("fn f() { crate::b::g() }", "use crate::{a::{A}, c};")),
        circle
    );
    assert_eq!(
        found(&room(
            "use crate::b; fn f() { b::g(); }",
            "fn g() -> super::a::A {}"
        )),
        circle
    );
    let passing = [
        ("lib.rs", "mod a;"),
        (
            "a/mod.rs",
            "mod one; mod two; pub use one::One; pub use two::Two;",
        ),
        ("a/one.rs", "use super::Two;"),
        ("a/two.rs", "fn f() -> crate::a::One {}"),
    ];
    assert_eq!(
        found(&passing),
        BTreeSet::from(["a/one.rs, a/two.rs".to_string()])
    );
}
