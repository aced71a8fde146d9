//! A case as it stands on a line of `cases/*.txt`.
//!
//! `name | what is spoilt | exit codes | what is told`, where
//! - spoilt are, joined by ` & `: `file: text => other text` (in every place), `file += text` (at the end), `file := text` (whole), `file <- what`
//!   (see `generated.rs`), `$ arguments`, or `-` for nothing. A line `file: NAME` names the file of the swaps that name none;
//! - codes are `2` or `0,1`;
//! - told are, joined by `; `: words; `!words` that are not told; `property<=number` of every zone in `prescription.geojson`; and `?` with the
//!   reason why the case is not right yet.
//!
//! `\n`, `\r` and `\t` stand for line ends and tabs, `\|` for a bar, `\e` for the character that starts a terminal's commands, `\0` for a byte of nothing.

use std::fs;
use std::path::{Path, PathBuf};

use crate::generated;

/// One spoilt field and what has to come of it.
#[derive(Debug, Clone)]
pub struct Case {
    /// What is wrong, as a sentence or the start of one.
    pub name: String,
    /// Arguments of the program.
    pub run: Vec<String>,
    edits: Vec<Edit>,
    codes: Vec<i32>,
    /// Words that are told, on the terminal or in the report.
    pub words: Vec<String>,
    /// Words that are not told.
    pub absent: Vec<String>,
    /// The greatest value of a property over the zones; a property that is not there is 0.
    pub most: Vec<(String, f64)>,
    /// Why it is not right yet.
    pub known: Option<String>,
}

#[derive(Debug, Clone)]
enum Edit {
    Swap {
        file: String,
        from: String,
        to: String,
    },
    Add {
        file: String,
        text: String,
    },
    Whole {
        file: String,
        text: String,
    },
    Generate {
        file: String,
        what: String,
    },
}

impl Case {
    pub fn is_right(&self, code: i32) -> bool {
        self.codes.contains(&code)
    }

    /// Whether it spoils nothing.
    pub fn is_good(&self) -> bool {
        self.edits.is_empty() && self.run[0] == "plan"
    }

    /// Writes the good field with what this case spoils.
    pub fn write(&self, folder: &Path) {
        for (name, text) in good() {
            fs::write(folder.join(name), text).unwrap();
        }
        for edit in &self.edits {
            edit.carry_out(folder, &self.name);
        }
    }
}

impl Edit {
    fn carry_out(&self, folder: &Path, case: &str) {
        match self {
            Self::Swap { file, from, to } => {
                let text = fs::read_to_string(folder.join(file))
                    .unwrap_or_else(|why| panic!("{case}: {file}: {why}"));
                assert!(text.contains(from), "{case}: {file} has no \"{from}\"");
                fs::write(folder.join(file), text.replace(from, to)).unwrap();
            }
            Self::Add { file, text } => {
                let before = fs::read_to_string(folder.join(file)).unwrap();
                fs::write(folder.join(file), before + text).unwrap();
            }
            Self::Whole { file, text } => fs::write(folder.join(file), text).unwrap(),
            Self::Generate { file, what } => {
                let _ = fs::remove_file(folder.join(file));
                generated::write(&folder.join(file), what);
            }
        }
    }

    fn read(text: &str, usual_file: &str) -> Self {
        let split = |sign: &str| {
            let (left, right) = text.split_once(sign)?;
            Some((plain(left), plain(right)))
        };
        if let Some((left, to)) = split(" => ") {
            let (file, from) = left
                .split_once(": ")
                .filter(|(file, _)| !file.contains([' ', '"', ',']))
                .unwrap_or((usual_file, &left));
            return Self::Swap {
                file: file.to_owned(),
                from: from.to_owned(),
                to,
            };
        }
        if let Some((file, text)) = split(" += ") {
            return Self::Add { file, text };
        }
        if let Some((file, text)) = split(" := ") {
            return Self::Whole { file, text };
        }
        let (file, what) = split(" <- ").unwrap_or_else(|| panic!("no edit: {text}"));
        Self::Generate { file, what }
    }
}

fn plain(text: &str) -> String {
    text.replace("\\n", "\n")
        .replace("\\r", "\r")
        .replace("\\t", "\t")
        .replace("\\|", "|")
        .replace("\\e", "\u{1b}")
        .replace("\\0", "\0")
}

fn read(line: &str, usual_file: &str) -> Case {
    let fields: Vec<&str> = line.split(" | ").collect();
    let [name, spoilt, codes, told] = fields[..] else {
        panic!("a case has four fields: {line}");
    };
    let mut case = Case {
        name: name.to_owned(),
        run: ["plan", "plan.toml", "--out", "out"]
            .map(str::to_owned)
            .to_vec(),
        edits: Vec::new(),
        codes: codes
            .split(',')
            .map(|code| code.trim().parse().unwrap())
            .collect(),
        words: Vec::new(),
        absent: Vec::new(),
        most: Vec::new(),
        known: None,
    };
    for edit in spoilt.split(" & ").filter(|edit| *edit != "-") {
        if let Some(arguments) = edit.strip_prefix("$ ") {
            case.run = arguments
                .split(' ')
                .map(|word| word.trim_matches('\'').to_owned())
                .collect();
        } else {
            case.edits.push(Edit::read(edit, usual_file));
        }
    }
    for word in told.split("; ").filter(|word| !word.is_empty()) {
        if let Some(absent) = word.strip_prefix('!') {
            case.absent.push(plain(absent));
        } else if let Some(reason) = word.strip_prefix('?') {
            case.known = Some(reason.to_owned());
        } else if let Some((key, most)) = word.split_once("<=") {
            case.most.push((key.to_owned(), most.parse().unwrap()));
        } else {
            case.words.push(word.to_owned());
        }
    }
    case
}

fn home() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hostile")
}

fn sorted(folder: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(home().join(folder)).unwrap();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// The files of the good field: name and text.
pub fn good() -> Vec<(String, String)> {
    sorted("good")
        .iter()
        .map(|file| {
            let name = file.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read_to_string(file).unwrap())
        })
        .collect()
}

/// All cases, file by file.
pub fn all() -> Vec<Case> {
    let mut cases = Vec::new();
    for file in sorted("cases") {
        let text = fs::read_to_string(file).unwrap();
        let mut usual_file = "plan.toml";
        for line in text
            .lines()
            .filter(|line| !line.is_empty() && !line.starts_with('#'))
        {
            match line.strip_prefix("file: ") {
                Some(name) => usual_file = name,
                None => cases.push(read(line, usual_file)),
            }
        }
    }
    cases
}
