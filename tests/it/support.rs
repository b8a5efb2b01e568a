//! What several tests need: paths, the demo, and files that are held to what the code makes.

use std::{fs, path::PathBuf};

use cupwright::{demo, in_force::InForce};

/// A path in the repository.
pub(crate) fn root(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The demo book with its sites.
pub(crate) fn demo() -> InForce {
    InForce::load(&demo::book(), &demo::sites()).unwrap_or_else(|faulty| {
        let all: Vec<String> = faulty.iter().map(ToString::to_string).collect();
        panic!("the demo does not load:\n{}", all.join("\n"))
    })
}

/// Holds a file to what the code makes now. `cargo bless` rewrites it; CI never does.
#[track_caller]
pub(crate) fn golden(path: &str, made: &str) {
    let file = root(path);
    if std::env::var_os("BLESS").is_some() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, made).unwrap();
        return;
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    if kept != made {
        let same = kept.lines().zip(made.lines()).take_while(|(a, b)| a == b).count();
        let line = |text: &str| text.lines().nth(same).unwrap_or("<end>").to_owned();
        let (kept, made) = (line(&kept), line(made));
        let at = same + 1;
        panic!(
            "{path} differs from line {at}:\n  kept: {kept}\n  made: {made}\nIf meant, run `cargo bless`."
        );
    }
}
