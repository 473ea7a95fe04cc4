//! The one way a number is printed for a reader, with its unit.

/// `value` metres: two decimals under 10 m, one under 1,000 m, whole metres above.
pub fn metres(value: f64) -> String {
    let decimals = match value.abs() {
        size if size < 9.995 => 2,
        size if size < 999.5 => 1,
        _ => 0,
    };
    format!("{} m", plain(value, decimals))
}

/// `value` degrees with one decimal.
pub fn degrees(value: f64) -> String {
    format!("{}°", plain(value, 1))
}

/// A `share` of one as a percentage, one decimal under 10 %.
pub fn percent(share: f64) -> String {
    let value = share * 100.0;
    format!("{} %", plain(value, usize::from(value.abs() < 9.95)))
}

/// `value` with about `digits` significant digits, never in exponent form.
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    // Of the rounded value: 0.0996 with two digits is 0.10, not 0.100.
    let rounded = format!("{value:.*e}", digits.saturating_sub(1));
    let magnitude: i32 = rounded.split('e').nth(1).and_then(|e| e.parse().ok()).unwrap_or(0);
    let decimals = i32::try_from(digits).unwrap_or(i32::MAX).saturating_sub(magnitude + 1);
    plain(value, usize::try_from(decimals).unwrap_or(0))
}

/// `value` with about `digits` significant digits, and no more decimals than it needs.
pub fn short(value: f64, digits: usize) -> String {
    let text = significant(value, digits);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// `n` things: `1 trail`, `3 trails`.
pub fn count_of(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 {thing}") } else { format!("{n} {thing}s") }
}

/// `value` with so many decimals, without the minus sign of a rounded zero.
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if is_zero { text.replace('-', "") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_keep_the_digits_a_tape_can_give() {
        assert_eq!(metres(-0.001), "0.00 m");
        assert_eq!(metres(9.994), "9.99 m");
        assert_eq!(metres(12.34), "12.3 m");
        assert_eq!(metres(1234.5), "1234 m");
    }

    #[test]
    fn shares_and_counts() {
        assert_eq!(percent(0.0312), "3.1 %");
        assert_eq!(percent(0.5), "50 %");
        assert_eq!(count_of(1, "trail"), "1 trail");
        assert_eq!(count_of(0, "trail"), "0 trails");
        assert_eq!(significant(0.012_345, 3), "0.0123");
        assert_eq!(significant(0.0996, 2), "0.10");
        assert_eq!(significant(-9.96, 2), "-10");
        assert_eq!(short(0.0501, 2), "0.05");
        assert_eq!(short(2.0, 2), "2");
        assert_eq!(short(1200.0, 2), "1200");
    }
}
