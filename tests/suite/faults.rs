//! What goes wrong around a run: a full disk, a signal at any moment, two runs at once, a poor environment.
//! Nothing is lost, nothing is half-written, and the words say what happened.
#![cfg(all(feature = "cli", feature = "plot", unix))]

use crate::cli::{Folder, SMALL, command, edited, finish, names_in, run_in};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A hundred times what a slow machine needs.
const PATIENCE: Duration = Duration::from_secs(120);

/// A plan with several files that takes some tenths of a second.
fn job() -> String {
    edited(SMALL, &[("cell_mm = 5.0", "cell_mm = 10.0")])
}

/// Every file under its final name is whole by the mark of its format.
fn whole(folder: &Path) -> usize {
    let mut count = 0;
    for name in names_in(folder) {
        let path = folder.join(&name);
        if path.is_dir() || name.rsplit('/').next().unwrap().starts_with('.') {
            continue;
        }
        let bytes = fs::read(&path).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        let good = match name.rsplit('.').next().unwrap() {
            "json" => serde_json::from_slice::<serde_json::Value>(&bytes).is_ok(),
            "svg" => text.trim_end().ends_with("</svg>"),
            "html" => text.trim_end().ends_with("</html>"),
            "png" => bytes.ends_with(b"IEND\xae\x42\x60\x82"),
            "txt" | "csv" => text.ends_with('\n'),
            "toml" => true,
            other => panic!("a file of an unknown kind, {other}"),
        };
        assert!(good, "{name} is cut short");
        count += 1;
    }
    count
}

/// Runs the command ten times into folders of their own and ends each by a signal, most of them late, where the
/// files are written; then runs it to its end in the same folder.
fn ended_by_signals(command_line: &[&str], least_files: usize) {
    let folder = Folder::new();
    folder.put("job.toml", job());
    let with_out = |out: &'static str| [command_line, &["--out", out]].concat();
    let start = Instant::now();
    assert_eq!(run_in(folder.path(), &with_out("all")).code, Some(0));
    let (took, all) = (start.elapsed(), whole(&folder.path().join("all")));
    assert!(all >= least_files, "{all} files");
    let mut ended = 0;
    for (out, signal, share) in [
        ("o0", "INT", 0.3),
        ("o1", "TERM", 0.4),
        ("o2", "KILL", 0.5),
        ("o3", "INT", 0.6),
        ("o4", "TERM", 0.7),
        ("o5", "KILL", 0.76),
        ("o6", "INT", 0.82),
        ("o7", "TERM", 0.88),
        ("o8", "KILL", 0.94),
        ("o9", "TERM", 1.0),
    ] {
        let child = command(folder.path(), &with_out(out)).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(took.mul_f64(share));
        let sent = Command::new("kill").args([&format!("-{signal}"), &child.id().to_string()]).status().unwrap();
        let answer = finish(child, PATIENCE);
        ended += usize::from(sent.success() && answer.code.is_none());
        let path = folder.path().join(out);
        if path.exists() {
            whole(&path);
        }
        // The same folder again: what an ended run left is no obstacle.
        assert_eq!(run_in(folder.path(), &with_out(out)).code, Some(0));
        assert_eq!(whole(&path), all);
    }
    assert!(ended >= 3, "{ended} of ten runs ended by their signal");
}

#[test]
fn a_plan_ended_by_a_signal_leaves_whole_files_only() {
    ended_by_signals(&["plan", "job.toml"], 8);
}

#[test]
fn a_map_by_grains_ended_by_a_signal_leaves_whole_files_only() {
    ended_by_signals(&["map", "job.toml", "--method", "grains", "--grains", "400"], 3);
}

#[test]
fn two_runs_into_one_folder_leave_what_one_leaves() {
    let folder = Folder::new();
    folder.put("job.toml", job());
    assert_eq!(run_in(folder.path(), &["plan", "job.toml", "--out", "one"]).code, Some(0));
    let start = || {
        command(folder.path(), &["plan", "job.toml", "--out", "both"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    };
    let (first, second) = (start(), start());
    assert_eq!((finish(first, PATIENCE).code, finish(second, PATIENCE).code), (Some(0), Some(0)));
    let (one, both) = (folder.path().join("one"), folder.path().join("both"));
    assert_eq!(names_in(&one), names_in(&both));
    for name in names_in(&one) {
        assert!(fs::read(one.join(&name)).unwrap() == fs::read(both.join(&name)).unwrap(), "{name} differs");
    }
}

/// A file system of a few pages, where this user may mount one; unmounted when it is dropped.
struct Small(std::path::PathBuf);

impl Small {
    fn mount(at: &Path, kib: usize) -> Option<Self> {
        fs::create_dir_all(at).unwrap();
        let size = format!("size={kib}k");
        let status =
            Command::new("mount").args(["-t", "tmpfs", "-o", &size, "tmpfs"]).arg(at).stderr(Stdio::null()).status();
        status.is_ok_and(|s| s.success()).then(|| Self(at.to_owned()))
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[test]
fn a_disk_that_fills_up_is_told() {
    let folder = Folder::new();
    folder.put("job.toml", job());
    let Some(small) = Small::mount(&folder.path().join("small"), 64) else {
        println!("NOTICE: this user may not mount a small file system, so no disk was filled");
        return;
    };
    for command in ["plan", "map", "stall"] {
        let out = format!("small/{command}");
        let answer = run_in(folder.path(), &[command, "job.toml", "--out", &out]);
        assert_eq!(answer.code, Some(1), "{command}: {}", answer.told());
        assert!(answer.told().contains("cannot write") && answer.told().contains("No space left"), "{}", answer.told());
        whole(&small.0);
        assert!(names_in(&small.0).iter().all(|n| !n.contains(".tmp")), "a temporary file was left");
        let _ = fs::remove_dir_all(small.0.join(command));
    }
}

#[test]
fn a_poor_environment_changes_nothing() {
    let folder = Folder::new();
    folder.put("job.toml", job());
    assert_eq!(run_in(folder.path(), &["plan", "job.toml", "--out", "usual"]).code, Some(0));
    let usual = folder.path().join("usual");
    let poor: [(&str, &[(&str, &str)]); 4] = [
        ("nothing", &[]),
        ("locale", &[("LC_ALL", "xx_YY.UTF-8"), ("LANG", "de_DE"), ("LC_NUMERIC", "de_DE.UTF-8")]),
        ("home", &[("HOME", "/nonexistent"), ("TMPDIR", "/nonexistent"), ("TERM", "")]),
        ("fonts", &[("FONTCONFIG_FILE", "/nonexistent"), ("FONTCONFIG_PATH", "/nonexistent")]),
    ];
    for (name, variables) in poor {
        let child = command(folder.path(), &["plan", "job.toml", "--out", name])
            .env_clear()
            .envs(variables.iter().copied())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let answer = finish(child, PATIENCE);
        assert_eq!(answer.code, Some(0), "{name}: {}", answer.told());
        let here = folder.path().join(name);
        assert_eq!(names_in(&usual), names_in(&here), "{name}");
        for file in names_in(&usual) {
            assert!(
                fs::read(usual.join(&file)).unwrap() == fs::read(here.join(&file)).unwrap(),
                "{name}: {file} differs"
            );
        }
    }
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let folder = Folder::new();
    folder.put("job.toml", job());
    let run = |threads: &str, out: &str| {
        let child = command(folder.path(), &["plan", "job.toml", "--out", out])
            .env("RAYON_NUM_THREADS", threads)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        assert_eq!(finish(child, PATIENCE).code, Some(0));
        folder.path().join(out)
    };
    let one = run("1", "one");
    for threads in ["2", "3", "8"] {
        let other = run(threads, threads);
        assert_eq!(names_in(&one), names_in(&other));
        for file in names_in(&one) {
            let same = fs::read(one.join(&file)).unwrap() == fs::read(other.join(&file)).unwrap();
            assert!(same, "{file} differs on {threads} threads");
        }
    }
}
