//! One item, one spelling: a name that is nearly another one is refused with the near one suggested.
//!
//! Two names are the same item when they differ in capitals, spaces and signs only. A name that stands in no order is
//! also held against the order with a letter or two wrong in a longer word. Figures and single letters never count as
//! a slip: `B 4190` and `B 3590` are two beams.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::{Faults, Input, names};

/// Letters of a word from which one slip, and two slips, are taken for the same word.
const ONE_SLIP_FROM: usize = 4;
const TWO_SLIPS_FROM: usize = 8;
/// Longer words are only ever compared whole.
const LONGEST: usize = 30;

pub(super) fn refuse_two_spellings(input: &Input, faults: &mut Faults) {
    let ordered: Vec<(&str, Vec<String>)> =
        input.ordered.iter().map(|one| (one.item.as_str(), words(&one.item))).collect();
    let exact: HashSet<&str> = ordered.iter().map(|(item, _)| *item).collect();
    // The first spelling of each name, and where it stands.
    let mut first: BTreeMap<String, (&str, String)> = BTreeMap::new();
    let mut near_of: HashMap<&str, Option<&str>> = HashMap::new();
    for (place, name) in names(input) {
        let own = words(name);
        let key = together(&own);
        if let Some((spelled, at)) = first.get(&key) {
            if *spelled != name {
                faults.add(place, two_ways(name, spelled, at));
            }
            continue;
        }
        if !exact.contains(name) {
            let near = *near_of.entry(name).or_insert_with(|| {
                ordered.iter().find(|(_, other)| is_near(&own, other)).map(|(item, _)| *item)
            });
            if let Some(near) = near {
                faults.add(place, two_ways(name, near, "the order"));
                continue;
            }
        }
        first.insert(key, (name, place));
    }
}

fn two_ways(name: &str, near: &str, place: &str) -> String {
    format!("{name:?} is nearly {near:?} of {place}: if it is the same item, spell it so")
}

/// Words and figures of a name in small letters, without spaces and signs between them.
fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut kind = None;
    for c in name.to_lowercase().chars() {
        let this = match c {
            c if c.is_numeric() => Some(true),
            c if c.is_alphabetic() => Some(false),
            _ => None,
        };
        match (this, kind == this, words.last_mut()) {
            (None, _, _) => {}
            (Some(_), true, Some(word)) => word.push(c),
            _ => words.push(c.to_string()),
        }
        kind = this;
    }
    // A name of signs alone is its own word.
    if words.is_empty() { vec![name.to_owned()] } else { words }
}

/// Words as one, so that `make-up` is `makeup`; figures stay apart from figures.
fn together(words: &[String]) -> String {
    let mut key = String::new();
    for word in words {
        if key.ends_with(char::is_numeric) && word.starts_with(char::is_numeric) {
            key.push(' ');
        }
        key.push_str(word);
    }
    key
}

/// As many words, figures and short words alike, longer ones with a slip or two.
fn is_near(one: &[String], other: &[String]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| is_same_word(a, b))
}

fn is_same_word(a: &str, b: &str) -> bool {
    if a == b {
        return true;
    }
    let (long, short) = (a.chars().count().max(b.chars().count()), a.chars().count().min(b.chars().count()));
    if a.chars().chain(b.chars()).any(char::is_numeric) || short < ONE_SLIP_FROM || LONGEST < long {
        return false;
    }
    let slips = if short < TWO_SLIPS_FROM { 1 } else { 2 };
    long - short <= slips && strsim::damerau_levenshtein(a, b) <= slips
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_and_short_words_are_never_slips() {
        let near = |a: &str, b: &str| is_near(&words(a), &words(b));
        for (a, b) in [
            ("wide infil", "wide infill"),
            ("make-up sheet", "MAKE UP sheet"),
            ("edge blcok 140", "edge block 140"),
            ("insulatoin bord", "insulation board"),
        ] {
            assert!(near(a, b), "{a} / {b}");
        }
        for (a, b) in [
            ("B 4190", "B 3590"),
            ("beam A", "beam B"),
            ("wide infill", "narrow infill"),
            ("edge block 140", "edge block 215"),
            ("B 4190", "B 4190 doubled"),
            ("end", "and"),
        ] {
            assert!(!near(a, b), "{a} / {b}");
        }
    }

    #[test]
    fn words_leave_capitals_spaces_and_signs_out() {
        let key = |name: &str| together(&words(name));
        assert_eq!(key("T-Beam  4190mm"), key("tbeam 4190 MM"));
        assert_eq!(key("make-up sheet"), key("makeup sheet"));
        assert_ne!(key("12 3"), key("1 23"));
        assert_eq!(words("--"), ["--"]);
        assert_eq!(words(""), [""]);
    }
}
