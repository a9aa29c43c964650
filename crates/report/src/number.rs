//! The one place where a number becomes text.

/// `value` with `digits` significant digits: plain between 0.001 and ten million with commas from 10,000 on, with an
/// exponent beyond. Zeros behind the point are kept, because they are significant; a number that is not finite is
/// "not known", which no result should ever show.
///
/// # Examples
/// ```
/// use beamstay_report::number::significant;
/// assert_eq!(significant(1234.56, 4), "1235");
/// assert_eq!(significant(0.012_345, 3), "0.0123");
/// assert_eq!(significant(1_234_567.0, 4), "1,235,000");
/// assert_eq!(significant(-0.0, 4), "0");
/// assert_eq!(significant(2.5e-9, 3), "2.50e-9");
/// ```
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "not known".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let digits = digits.clamp(1, 17);
    let rounded: f64 = format!("{value:.*e}", digits - 1).parse().unwrap_or(value);
    let exponent = rounded.abs().log10().floor() as i32;
    if !(-3..7).contains(&exponent) {
        return format!("{value:.*e}", digits - 1);
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    group_thousands(&format!("{rounded:.decimals$}"))
}

/// `value` with its unit, four significant digits.
///
/// # Examples
/// ```
/// use beamstay_report::number::quantity;
/// assert_eq!(quantity(12.3456, "N"), "12.35 N");
/// assert_eq!(quantity(0.5, ""), "0.5000");
/// assert_eq!(quantity(-3.0, "°"), "-3.000°");
/// ```
pub fn quantity(value: f64, unit: &str) -> String {
    with_unit(&significant(value, 4), unit)
}

/// A number as text and its unit: no space before the signs of degree, minute and second of arc, one before all else.
pub fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        "°" => format!("{number}°"),
        _ => format!("{number} {unit}"),
    }
}

/// `ratio` in percent with a sign, for margins.
///
/// # Examples
/// ```
/// use beamstay_report::number::signed_percent;
/// assert_eq!(signed_percent(0.1234), "+12 %");
/// assert_eq!(signed_percent(-0.0042), "-0.42 %");
/// assert_eq!(signed_percent(12.0), "+1200 %");
/// ```
pub fn signed_percent(ratio: f64) -> String {
    if !ratio.is_finite() {
        return "not known".into();
    }
    let percent = 100.0 * ratio;
    let sign = if percent < 0.0 { "-" } else { "+" };
    let size = percent.abs();
    let text = if size >= 10.0 { format!("{size:.0}") } else { significant(size, 2) };
    format!("{sign}{text} %")
}

/// A round number of an axis that spans `span`: as many decimals as the span needs, no zeros for their own sake.
///
/// # Examples
/// ```
/// use beamstay_report::number::tick;
/// assert_eq!(tick(20.0, 100.0), "20");
/// assert_eq!(tick(0.30000000000000004, 1.0), "0.3");
/// assert_eq!(tick(12_000.0, 50_000.0), "12,000");
/// assert_eq!(tick(-1e-18, 1.0), "0");
/// ```
pub fn tick(value: f64, span: f64) -> String {
    if !value.is_finite() || !span.is_finite() || span <= 0.0 {
        return significant(value, 4);
    }
    if !(1e-3..1e7).contains(&span) {
        return if value.abs() < 1e-9 * span { "0".into() } else { format!("{value:.2e}") };
    }
    let decimals = (2 - span.log10().floor() as i32).clamp(0, 6) as usize;
    let text = group_thousands(&format!("{value:.decimals$}"));
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    if text == "-0" { "0".into() } else { text }
}

fn group_thousands(text: &str) -> String {
    let (sign, rest) = text.strip_prefix('-').map_or(("", text), |rest| ("-", rest));
    let (whole, fraction) = rest.split_once('.').map_or((rest, None), |(w, f)| (w, Some(f)));
    if whole.len() <= 4 {
        return text.to_owned();
    }
    let mut grouped = String::with_capacity(text.len() + 4);
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    match fraction {
        Some(fraction) => format!("{sign}{grouped}.{fraction}"),
        None => format!("{sign}{grouped}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn rounding_that_carries_keeps_its_digits() {
        assert_eq!(significant(9.9999, 4), "10.00");
        assert_eq!(significant(99_999.9, 4), "100,000");
        assert_eq!(significant(0.000_999_96, 4), "0.001000");
    }

    #[test]
    fn not_finite_is_not_a_number() {
        assert_eq!(significant(f64::NAN, 4), "not known");
        assert_eq!(signed_percent(f64::INFINITY), "not known");
    }

    proptest! {
        #[test]
        fn prop_text_reads_back_within_its_digits(value in prop::num::f64::NORMAL, digits in 1usize..10) {
            let text = significant(value, digits).replace(',', "");
            let back: f64 = text.parse().unwrap();
            prop_assert!((back - value).abs() <= 0.5000001 * 10f64.powi(1 - digits as i32) * value.abs());
        }
    }
}
