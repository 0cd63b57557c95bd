//! Groups of consecutive results against the criteria of identity testing.

use super::{
    Counted, Criterion, Factor, Finding, METHODS, Of, Plain, SHARES, StrengthClass, Verdict, Working, as_mpa,
    deciding, of_many, texts,
};
use crate::reckon::methods;

/// Each result as arithmetic: the mean of its cubes.
pub(super) fn terms(results: &[Counted<'_>]) -> Vec<String> {
    results
        .iter()
        .map(|result| {
            let cubes = texts(result.sample);
            if cubes.len() == 1 {
                cubes[0].clone()
            } else {
                format!("{} / {}", of_many("sum", &cubes), cubes.len())
            }
        })
        .collect()
}

/// Judges all groups under one class.
pub(super) fn judge(
    counted: &[Counted<'_>],
    class: &StrengthClass,
    certified: bool,
    findings: &mut Vec<Finding>,
    working: &mut Working,
) -> (Vec<Criterion>, Verdict) {
    let method = &METHODS.identity_testing;
    let table = if certified { &method.certified } else { &method.uncertified };
    let mut criteria = Vec::new();
    let mut too_few = Vec::new();
    for group in counted.chunks(method.most_results) {
        let Some(rule) = table.iter().rfind(|rule| rule.results_from <= group.len()) else {
            let least = table.first().map_or(0, |rule| rule.results_from);
            too_few.push(Finding::new(
                "there are results enough",
                Verdict::Undetermined,
                format!(
                    "{}: {} of at least {least} results that production without certification needs",
                    names(group).join(", "),
                    group.len()
                ),
                &method.source,
            ));
            continue;
        };
        judge_group(group, class, rule, &mut criteria, working);
    }
    let verdict =
        Verdict::overall(criteria.iter().map(|criterion| criterion.verdict).chain(deciding(&too_few)));
    // The same groups are too few under every class: said once.
    for finding in too_few {
        if !findings.contains(&finding) {
            findings.push(finding);
        }
    }
    (criteria, verdict)
}

fn names(group: &[Counted<'_>]) -> Vec<String> {
    group.iter().map(|result| result.sample.sample.clone()).collect()
}

fn judge_group(
    group: &[Counted<'_>],
    class: &StrengthClass,
    rule: &methods::Criterion,
    criteria: &mut Vec<Criterion>,
    working: &mut Working,
) {
    let method = &METHODS.identity_testing;
    let count = i64::try_from(group.len()).expect("BUG: a group is small");
    let total: i64 = group.iter().map(|result| result.shares).sum();
    let least = group.iter().map(|result| result.shares).min().unwrap_or_default();
    let below = Factor::from_millionths(-method.least_result_below.0.millionths());
    let wanted = [
        rule.mean_above.map(|Plain(above)| (Of::Mean, above, total, count)),
        Some((Of::Least, below, least, 1)),
    ];
    let terms = terms(group);
    for (of, above, shares, count) in wanted.into_iter().flatten() {
        let limit = Factor::from_millionths(class.cube.millionths() + above.millionths());
        // Both sides in whole shares: mean ≥ limit.
        let reached =
            i128::from(limit.millionths()) * i128::from(count) * i128::from(SHARES) <= i128::from(shares);
        let found = as_mpa(shares, count);
        let formula = match of {
            Of::Mean => format!("({}) / {count}", of_many("sum", &terms)),
            Of::Least => of_many("min", &terms),
        };
        let what = if of == Of::Mean { "mean" } else { "least result" };
        working.float(
            format!(
                "{}, {what} of {} to {}: distance above {}",
                class.name,
                group[0].sample.sample,
                group[group.len() - 1].sample.sample,
                limit.to_text()
            ),
            format!("{formula} - ({} + {})", class.cube.to_text(), crate::working::term(&above.to_text())),
            found - limit.to_f64(),
            "MPa",
            &method.source,
        );
        criteria.push(Criterion {
            strength_class: class.name.clone(),
            samples: names(group),
            of,
            limit: Plain(limit),
            found,
            verdict: Verdict::of(reached),
            source: method.source.clone(),
        });
    }
}
