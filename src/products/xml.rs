//! Text of a survey as it may stand in XML: in a figure, or in a file for maps.
//!
//! In: any text. Out: text that no reader of XML takes for markup. Left out: HTML and Markdown, whose
//! rules are others and stand with the pages written in them.

/// `text` as the content of an element or attribute. Ends of lines and tabs are blanks; characters
/// that XML 1.0 cannot hold are left out. Source: Extensible Markup Language 1.0, productions 2 and 14.
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\n' | '\t' | '\r' => safe.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn what_a_survey_says_is_text() {
        assert_eq!(escaped("a<b>\"&\n\u{7}\u{fffe}č"), "a&lt;b&gt;&quot;&amp; č");
    }
}
