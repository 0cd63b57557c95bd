//! What a strength class says: cylinder and cube strength, or the several classes that a bare number can mean.

use std::str::FromStr;

use super::methods::METHODS;
use crate::quantity::Factor;

/// A strength class by its characteristic strengths in MPa.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct StrengthClass {
    /// As written in the standard: `C20/25`.
    pub name: String,
    /// Characteristic strength of cylinders.
    pub cylinder: Factor,
    /// Characteristic strength of cubes.
    pub cube: Factor,
}

/// Every class that the text can mean, weakest first: one for `C20/25`, `GEN3` and `RC20/25`; two for a bare `C20`,
/// which may count cylinders or, as former grades do, cubes; none when it is no class.
pub(super) fn readings(text: &str) -> Vec<StrengthClass> {
    let text = text.trim();
    let known = &METHODS.strength_classes;
    let name = known.designated.get(text).map_or(text, String::as_str);
    let name = name.strip_prefix('R').filter(|rest| rest.starts_with('C')).unwrap_or(name);
    let classes = known.classes.iter().filter_map(|class| class.parse::<StrengthClass>().ok());
    if name.contains('/') {
        return classes.filter(|class| class.name == name).collect();
    }
    let Some(strength) = name.strip_prefix('C').and_then(|number| Factor::parse(number).ok()) else {
        return Vec::new();
    };
    classes.filter(|class| class.cylinder == strength || class.cube == strength).collect()
}

impl FromStr for StrengthClass {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let (cylinder, cube) = text.strip_prefix('C').and_then(|rest| rest.split_once('/')).ok_or(())?;
        let strength = |text: &str| Factor::parse(text).map_err(|_| ());
        Ok(Self { name: text.to_owned(), cylinder: strength(cylinder)?, cube: strength(cube)? })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: &[&str]) {
        let found: Vec<String> = readings(text).into_iter().map(|class| class.name).collect();
        assert_eq!(found, expect, "{text}");
    }

    #[test]
    fn a_class_reads_as_one_and_a_bare_number_as_all_it_can_mean() {
        check("C20/25", &["C20/25"]);
        check("RC20/25", &["C20/25"]);
        check("GEN0", &["C6/8"]);
        check("C16", &["C16/20"]);
        for wrong in ["", "C", "20", "C20/26", "C-20", "GEN9", "C20/25/30", "RC", "strong"] {
            check(wrong, &[]);
        }
    }

    /// tests/data/published/concrete.json: former cube grades beside the classes whose cylinders have that number.
    #[test]
    fn former_cube_grades_are_among_the_readings() {
        let data: serde_json::Value =
            serde_json::from_str(include_str!("../../../tests/data/published/concrete.json")).unwrap();
        let former = data["strength_classes"]["former_cube_grades"].as_object().unwrap();
        assert_eq!(former.len(), 5);
        for (grade, class) in former {
            let readings = readings(grade);
            assert_eq!(readings.len(), 2, "{grade}");
            assert_eq!(readings[0].name, class.as_str().unwrap());
            assert!(readings[1].name.starts_with(&format!("{grade}/")));
        }
    }

    #[test]
    fn every_shipped_class_reads() {
        for class in
            METHODS.strength_classes.classes.iter().chain(METHODS.strength_classes.designated.values())
        {
            assert_eq!(readings(class).len(), 1, "{class}");
        }
    }
}
