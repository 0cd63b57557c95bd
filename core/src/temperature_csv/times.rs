//! Times as loggers write them.

use crate::time::LocalTime;

/// Whether days or months come first where the year comes last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    /// No row tells.
    Unsettled,
    Day,
    Month,
    /// Rows tell both.
    Torn,
}

impl Order {
    /// What one more row tells.
    pub fn with(self, text: &str) -> Self {
        let mut parts = text.split('/').map(|part| part.trim().parse::<u32>());
        let (Some(Ok(first)), Some(Ok(second))) = (parts.next(), parts.next()) else { return self };
        if first > 31 {
            return self; // the year comes first
        }
        let told = match (first > 12, second > 12) {
            (true, false) => Self::Day,
            (false, true) => Self::Month,
            _ => return self,
        };
        match self {
            Self::Unsettled => told,
            own if own == told => own,
            _ => Self::Torn,
        }
    }
}

const CLOCKS: [&str; 4] = ["%H:%M:%S", "%H:%M", "%I:%M:%S %p", "%I:%M %p"];

/// Reads one moment.
///
/// # Errors
/// What is wrong with it, in words.
pub(super) fn read(text: &str, order: Order) -> Result<LocalTime, String> {
    let shown: String = text.chars().take(40).collect();
    if text.is_empty() {
        return Err("is missing".to_owned());
    }
    let offset = text.ends_with(['Z', 'z'])
        || text.rsplit_once(['+', '-']).is_some_and(|(before, after)| {
            before.contains(':') && after.bytes().all(|byte| byte.is_ascii_digit() || byte == b':')
        });
    if offset {
        return Err(format!("{shown:?} has an offset: export times by the site's own clock"));
    }
    // Fractions of a second are of no use here; only noughts are left out, so that nothing is rounded.
    let text = match text.split_once('.') {
        Some((before, noughts)) if before.contains(':') && noughts.bytes().all(|byte| byte == b'0') => before,
        _ => text,
    };
    let days: &[&str] = match order {
        _ if !text.contains('/') => &["%Y-%m-%d", "%d.%m.%Y", "%d-%m-%Y"],
        _ if text.find('/') == Some(4) => &["%Y/%m/%d"],
        Order::Day => &["%d/%m/%Y"],
        Order::Month => &["%m/%d/%Y"],
        Order::Unsettled => {
            return Err(format!(
                "{shown:?} may be day or month first, and no row tells which: write the year first"
            ));
        }
        Order::Torn => return Err(format!("{shown:?}: some rows have the day first and others the month")),
    };
    let joined = days.iter().flat_map(|day| [" ", "T"].map(|join| format!("{day}{join}")));
    let mut formats = joined.flat_map(|day| CLOCKS.map(|clock| format!("{day}{clock}")));
    formats
        .find_map(|format| LocalTime::parse_as(text, &format))
        .ok_or_else(|| format!("{shown:?} is no time such as 2026-11-26 08:10"))
}
