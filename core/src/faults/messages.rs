//! What the schema finds wrong, in plain sentences.

use jsonschema::error::{TypeKind, ValidationError, ValidationErrorKind};
use serde_json::Value;

use super::{Faults, segment};

/// Adds what one validation error means, at its place or places.
pub(super) fn add_error(error: &ValidationError<'_>, faults: &mut Faults) {
    let place = error.instance_path().as_str();
    match error.kind() {
        ValidationErrorKind::Required { property } => {
            let key = property.as_str().map_or_else(|| property.to_string(), segment);
            faults.add(format!("{place}/{key}"), "is missing");
        }
        ValidationErrorKind::AdditionalProperties { unexpected }
        | ValidationErrorKind::UnevaluatedProperties { unexpected } => {
            for key in unexpected {
                faults.add(format!("{place}/{}", segment(key)), "unknown key");
            }
        }
        ValidationErrorKind::AnyOf { context } | ValidationErrorKind::OneOfNotValid { context } => {
            add_alternatives(place, context, faults);
        }
        kind => faults.add(place, sentence(kind, error)),
    }
}

/// Alternatives: the one that comes nearest speaks; when all want another kind of value, the kinds are named.
fn add_alternatives(place: &str, context: &[Vec<ValidationError<'static>>], faults: &mut Faults) {
    let wrong_kind = |errors: &[ValidationError<'static>]| {
        errors.iter().any(|error| {
            error.instance_path().as_str() == place
                && matches!(
                    error.kind(),
                    ValidationErrorKind::Type { .. }
                        | ValidationErrorKind::Enum { .. }
                        | ValidationErrorKind::Constant { .. }
                )
        })
    };
    let nearest = context.iter().filter(|errors| !wrong_kind(errors)).min_by_key(|errors| errors.len());
    if let Some(errors) = nearest {
        for error in errors {
            add_error(error, faults);
        }
        return;
    }
    let mut words: Vec<String> = Vec::new();
    for error in context.iter().flatten() {
        let word = match error.kind() {
            ValidationErrorKind::Type { kind } => kinds(kind),
            ValidationErrorKind::Enum { options } => options_text(options),
            ValidationErrorKind::Constant { expected_value } => plain(expected_value),
            _ => continue,
        };
        if !word.is_empty() && !words.contains(&word) {
            words.push(word);
        }
    }
    faults.add(place, format!("must be {}", words.join(" or ")));
}

fn sentence(kind: &ValidationErrorKind, error: &ValidationError<'_>) -> String {
    match kind {
        ValidationErrorKind::Type { kind } => format!("must be {}", kinds(kind)),
        ValidationErrorKind::Minimum { limit } => format!("must be at least {limit}"),
        ValidationErrorKind::Maximum { limit } => format!("must be at most {limit}"),
        ValidationErrorKind::ExclusiveMinimum { limit } => format!("must be more than {limit}"),
        ValidationErrorKind::ExclusiveMaximum { limit } => format!("must be less than {limit}"),
        ValidationErrorKind::MinItems { limit } => format!("must have at least {limit} {}", items(*limit)),
        ValidationErrorKind::MaxItems { limit } => format!("must have at most {limit} {}", items(*limit)),
        ValidationErrorKind::MinLength { limit: 1 } => "must not be empty".to_owned(),
        ValidationErrorKind::MinLength { limit } => format!("must have at least {limit} characters"),
        ValidationErrorKind::MaxLength { limit } => format!("must have at most {limit} characters"),
        ValidationErrorKind::Enum { options } => format!("must be {}", options_text(options)),
        ValidationErrorKind::Constant { expected_value } => format!("must be {}", plain(expected_value)),
        ValidationErrorKind::Pattern { pattern } => format!("must match the pattern {pattern}"),
        ValidationErrorKind::UniqueItems => "must not hold the same item twice".to_owned(),
        ValidationErrorKind::Custom { message, .. } => message.clone(),
        _ => error.masked().to_string(),
    }
}

fn items(count: u64) -> &'static str {
    if count == 1 { "item" } else { "items" }
}

/// Names of the kinds asked for; `null` is left out, since leaving the key out says the same.
fn kinds(kind: &TypeKind) -> String {
    let word = |name: &str| match name {
        "array" => "a list",
        "boolean" => "true or false",
        "integer" => "a whole number",
        "number" => "a number",
        "object" => "an object",
        "string" => "text",
        _ => "",
    };
    let words: Vec<&str> = match kind {
        TypeKind::Single(one) => vec![word(&one.to_string())],
        TypeKind::Multiple(many) => many.iter().map(|one| word(&one.to_string())).collect(),
    };
    words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" or ")
}

fn options_text(options: &Value) -> String {
    let words: Vec<String> = options
        .as_array()
        .map_or_else(Vec::new, |list| list.iter().filter(|option| !option.is_null()).map(plain).collect());
    match words.as_slice() {
        [one] => one.clone(),
        many => format!("one of {}", many.join(", ")),
    }
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}
