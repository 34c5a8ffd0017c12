//! The crates, their manifests and their sources, as they stand on disk.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
};

/// A crate of the workspace.
pub struct Member {
    pub name: String,
    pub folder: PathBuf,
    pub manifest: toml::Table,
}

/// The folder of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// All crates, by name.
pub fn members() -> Vec<Member> {
    let mut found: Vec<Member> = fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|folder| folder.join("Cargo.toml").is_file())
        .map(|folder| {
            let text = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
            let manifest: toml::Table = text.parse().unwrap();
            let name = manifest["package"]["name"].as_str().unwrap().to_owned();
            Member { name, folder, manifest }
        })
        .collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    assert!(found.len() > 10, "only {} crates were found", found.len());
    found
}

impl Member {
    /// What the crate depends on when it is built for use, not for its own tests.
    pub fn needs(&self) -> BTreeSet<String> {
        self.section("dependencies")
    }

    /// What its tests and benchmarks depend on besides.
    pub fn tests_need(&self) -> BTreeSet<String> {
        self.section("dev-dependencies")
    }

    fn section(&self, key: &str) -> BTreeSet<String> {
        let table = self.manifest.get(key).and_then(toml::Value::as_table);
        table.map(|t| t.keys().cloned().collect()).unwrap_or_default()
    }

    /// Rust files under a folder of the crate.
    pub fn rust(&self, under: &str) -> Vec<PathBuf> {
        files(&self.folder.join(under), &["rs"])
    }
}

/// Files under a folder with one of these endings, in order.
pub fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let Ok(entries) = fs::read_dir(folder) else { return found };
    for entry in entries {
        let path = entry.unwrap().path();
        if path.is_dir() {
            if path.file_name().is_some_and(|n| n != "target") {
                found.extend(files(&path, endings));
            }
        } else if path.extension().and_then(|e| e.to_str()).is_some_and(|e| endings.contains(&e)) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// A path as the reader of a failure wants it: from the folder of the workspace.
pub fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}
