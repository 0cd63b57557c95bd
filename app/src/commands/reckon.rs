//! `gaugerod reckon`: JSON in, JSON out. All computing is core's; here are only files, standard input and exit codes.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::PathBuf;

use clap::Args;
use gaugerod_core::faults::MAX_BYTES;
use gaugerod_core::reckon::{RECKONINGS, Reckoning, ReckoningName};

/// It was reckoned, whatever the verdict.
const DONE: i32 = 0;
/// The input is unusable.
const UNUSABLE: i32 = 2;
/// The command was called wrongly.
const WRONG_USAGE: i32 = 64;

/// One computation of the trade: JSON in, result, verdict and working out.
#[derive(Debug, Clone, Default, Args)]
#[expect(clippy::struct_excessive_bools, reason = "one for each flag of the contract")]
pub struct ReckonArgs {
    /// Which reckoning; `--list` names them
    pub name: Option<String>,
    /// Read the input from this file instead of standard input
    #[arg(long = "in", value_name = "FILE")]
    pub input: Option<PathBuf>,
    /// Print the JSON Schema (2020-12) of input and output
    #[arg(long)]
    pub schema: bool,
    /// Print the working as readable text instead of JSON
    #[arg(long)]
    pub working: bool,
    /// Name every reckoning, one a line
    #[arg(long)]
    pub list: bool,
    /// Print the list as JSON; everything else is JSON already
    #[arg(long)]
    pub json: bool,
}

/// Runs the command on the process's own streams and gives its exit code.
pub fn run(args: &ReckonArgs) -> i32 {
    let (mut stdin, mut stdout, mut stderr) = (io::stdin().lock(), io::stdout().lock(), io::stderr().lock());
    run_on(args, &mut stdin, &mut stdout, &mut stderr)
}

/// Runs the command on given streams. What cannot be written any more (a closed pipe) is nobody's concern.
fn run_on(args: &ReckonArgs, stdin: &mut dyn Read, out: &mut dyn Write, err: &mut dyn Write) -> i32 {
    let reckoning = match chosen(args) {
        Ok(Some(reckoning)) => reckoning,
        Ok(None) => {
            let _ = out.write_all(list(args.json).as_bytes()).and_then(|()| out.flush());
            return DONE;
        }
        Err(usage) => {
            let _ = writeln!(err, "{usage}");
            return WRONG_USAGE;
        }
    };
    if args.schema {
        let _ = writeln!(out, "{:#}", reckoning.schema()).and_then(|()| out.flush());
        return DONE;
    }
    let reckoned =
        read(args, stdin).and_then(|text| reckoning.reckon(&text).map_err(|faults| faults.to_string()));
    match reckoned {
        Ok(reckoned) => {
            let text = if args.working { reckoned.working.to_text() } else { reckoned.text };
            let _ = writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush());
            DONE
        }
        Err(faults) => {
            let _ = writeln!(err, "{faults}");
            UNUSABLE
        }
    }
}

/// The reckoning asked for, `None` for the list, or what is wrong with the call.
fn chosen(args: &ReckonArgs) -> Result<Option<&'static Reckoning>, String> {
    const HINT: &str = "gaugerod reckon --list names the reckonings";
    if args.list {
        let alone = args.name.is_none() && args.input.is_none() && !args.schema && !args.working;
        return if alone { Ok(None) } else { Err("--list stands alone, or with --json".to_owned()) };
    }
    let Some(name) = &args.name else {
        return Err(format!("which reckoning? {HINT}"));
    };
    if args.schema && (args.working || args.input.is_some()) {
        return Err("--schema takes no input and has no working".to_owned());
    }
    if args.working && args.json {
        return Err("--working is text: leave --json out".to_owned());
    }
    let name: ReckoningName = name.parse().map_err(|error| format!("{error}; {HINT}"))?;
    Ok(Some(name.reckoning()))
}

fn list(json: bool) -> String {
    if json {
        let list: Vec<serde_json::Value> = RECKONINGS
            .iter()
            .map(|reckoning| serde_json::json!({"name": reckoning.name.as_str(), "title": reckoning.title}))
            .collect();
        return format!("{:#}\n", serde_json::Value::Array(list));
    }
    let lines: Vec<String> = RECKONINGS
        .iter()
        .map(|reckoning| format!("{:12} {}\n", reckoning.name.as_str(), reckoning.title))
        .collect();
    lines.concat()
}

/// The input as text, or one line that says why there is none.
fn read(args: &ReckonArgs, stdin: &mut dyn Read) -> Result<String, String> {
    let mut bytes = Vec::new();
    // One byte past the bound is enough for core to refuse it by size.
    let most = MAX_BYTES as u64 + 1;
    match &args.input {
        Some(path) => File::open(path)
            .and_then(|file| file.take(most).read_to_end(&mut bytes))
            .map_err(|error| format!("{}: cannot be read: {error}", path.display()))?,
        None => stdin
            .take(most)
            .read_to_end(&mut bytes)
            .map_err(|error| format!("standard input: cannot be read: {error}"))?,
    };
    String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = good.split(|byte| *byte == b'\n').count();
        let start = good.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let column = 1 + String::from_utf8_lossy(&good[start..]).chars().count();
        format!("{line}:{column}: is not UTF-8 text")
    })
}

#[cfg(test)]
mod tests {
    use clap::{CommandFactory, FromArgMatches, Parser};

    use super::*;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        reckon: ReckonArgs,
    }

    /// Runs `gaugerod reckon` with these words and this input: exit code, output, errors.
    fn check(words: &[&str], input: &[u8]) -> (i32, String, String) {
        let matches = Line::command().no_binary_name(true).try_get_matches_from(words).unwrap();
        let line = Line::from_arg_matches(&matches).unwrap();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = run_on(&line.reckon, &mut &*input, &mut out, &mut err);
        (code, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
    }

    const VOID: &[u8] = br#"{"lowest_point_m": 47.785, "required_void_mm": 200,
        "ground": [{"point": "G3", "level_m": 47.593}],
        "decision": {"rule": "simple", "expanded_uncertainty_mm": 0, "coverage_factor": 2}}"#;

    #[test]
    fn a_verdict_of_any_kind_is_an_answer() {
        let (code, out, err) = check(&["void"], VOID);
        let output: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!((code, err.as_str()), (0, ""));
        assert_eq!(output["verdict"], "nonconforming");
        assert_eq!(output["ground"][0]["dig_mm"].to_string(), "8");
    }

    #[test]
    fn the_working_is_text() {
        let (code, out, _) = check(&["void", "--working"], VOID);
        assert_eq!(code, 0);
        assert!(out.contains("(47.785 - 47.593) * 1000 = 192 mm"), "{out}");
    }

    #[test]
    fn faults_are_lines_and_nothing_is_put_out() {
        for (input, expect) in [
            (&b"{\"x\": 1}"[..], "/x: unknown key"),
            (b"nothing", "1:2: "),
            (b"{\n \xff", "2:2: is not UTF-8 text"),
        ] {
            let (code, out, err) = check(&["void"], input);
            assert_eq!((code, out.as_str()), (2, ""));
            assert!(err.lines().any(|line| line.starts_with(expect)), "{err}");
        }
    }

    #[test]
    fn a_file_that_is_not_there_is_named() {
        let (code, _, err) = check(&["void", "--in", "nowhere.json"], b"");
        assert_eq!(code, 2);
        assert!(err.starts_with("nowhere.json: cannot be read"), "{err}");
    }

    #[test]
    fn wrong_usage_is_told_apart_from_wrong_input() {
        for words in [
            &[][..],
            &["no-such"],
            &["--list", "void"],
            &["void", "--schema", "--working"],
            &["void", "--working", "--json"],
        ] {
            let (code, out, err) = check(words, VOID);
            assert_eq!((code, out.as_str()), (64, ""), "{words:?}");
            assert!(!err.is_empty());
        }
    }

    #[test]
    fn the_list_names_each_once() {
        let (code, out, _) = check(&["--list"], b"");
        assert_eq!((code, out.lines().count()), (0, RECKONINGS.len()));
        let (_, json, _) = check(&["--list", "--json"], b"");
        assert_eq!(
            serde_json::from_str::<serde_json::Value>(&json).unwrap().as_array().unwrap().len(),
            RECKONINGS.len()
        );
    }

    #[test]
    fn every_schema_is_printed() {
        for reckoning in RECKONINGS {
            let (code, out, _) = check(&[reckoning.name.as_str(), "--schema"], b"");
            assert_eq!(code, 0);
            assert!(out.contains("https://json-schema.org/draft/2020-12/schema"));
        }
    }
}
