//! HTML text in which tags always close and what a survey says is always text.

/// What is put before the five characters that HTML takes for its own.
fn escaped(text: &str, out: &mut String) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // HTML forbids them, and a browser would show nothing.
            c if c.is_control() && !matches!(c, '\n' | '\t') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
}

/// JSON that may stand between `<script>` and `</script>`: nothing in it ends the script.
pub(super) fn json_in_script(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<' => out.push_str("\\u003c"),
            '>' => out.push_str("\\u003e"),
            '&' => out.push_str("\\u0026"),
            c => out.push(c),
        }
    }
    out
}

/// `text` in which no line ends between a number and its unit, or between `n`, `=` and its number.
pub(super) fn held_together(text: &str) -> String {
    const HELD: char = '\u{a0}';
    let parts: Vec<&str> = text.split(' ').collect();
    let digit = |part: &str| part.ends_with(|c: char| c.is_ascii_digit());
    let unit = |part: &str| {
        let bare = part.trim_end_matches([',', ';', '.', ')', ':']);
        matches!(bare, "m" | "cm" | "g" | "%" | "h" | "°" | "mm")
    };
    let mut out = String::with_capacity(text.len());
    for (at, part) in parts.iter().enumerate() {
        if let Some(before) = at.checked_sub(1).map(|before| parts[before]) {
            let sign = matches!(*part, "=" | "±") || matches!(before, "=" | "±" | "≥");
            let held = sign || digit(before) && unit(part);
            out.push(if held { HELD } else { ' ' });
        }
        out.push_str(part);
    }
    out
}

/// Names and values of attributes.
pub(super) type Attributes<'a> = &'a [(&'a str, &'a str)];

/// A piece of HTML under way.
#[derive(Debug, Default)]
pub(super) struct Html {
    text: String,
}

impl Html {
    /// Text of the survey or of this program.
    pub(super) fn text(&mut self, text: &str) {
        escaped(text, &mut self.text);
    }

    /// Markup of this program's own making, as it is.
    pub(super) fn raw(&mut self, markup: &str) {
        self.text.push_str(markup);
    }

    /// An element that holds what `fill` puts into it.
    pub(super) fn within(
        &mut self,
        tag: &str,
        attributes: Attributes<'_>,
        fill: impl FnOnce(&mut Self),
    ) {
        self.open(tag, attributes);
        fill(self);
        self.text.push_str("</");
        self.text.push_str(tag);
        self.text.push('>');
    }

    /// An element that holds text.
    pub(super) fn element(&mut self, tag: &str, attributes: Attributes<'_>, text: &str) {
        self.within(tag, attributes, |html| html.text(text));
    }

    /// An element of a kind that holds nothing.
    pub(super) fn open(&mut self, tag: &str, attributes: Attributes<'_>) {
        self.text.push('<');
        self.text.push_str(tag);
        for (name, value) in attributes {
            self.text.push(' ');
            self.text.push_str(name);
            if !value.is_empty() {
                self.text.push_str("=\"");
                escaped(value, &mut self.text);
                self.text.push('"');
            }
        }
        self.text.push('>');
    }

    /// A section of the page under its heading.
    pub(super) fn section(&mut self, id: &str, heading: &str, fill: impl FnOnce(&mut Self)) {
        let head = format!("{id}-heading");
        self.raw("\n");
        self.within("section", &[("id", id), ("aria-labelledby", &head)], |html| {
            html.element("h2", &[("id", &head)], heading);
            fill(html);
        });
    }

    /// A paragraph.
    pub(super) fn paragraph(&mut self, text: &str) {
        self.element("p", &[], &held_together(text));
    }

    /// A list of sentences.
    pub(super) fn list(&mut self, class: &str, lines: &[String]) {
        self.within("ul", &[("class", class)], |html| {
            for line in lines {
                html.element("li", &[], &held_together(line));
            }
        });
    }

    /// The whole.
    pub(super) fn finish(self) -> String {
        self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_survey_says_is_text() {
        let mut html = Html::default();
        html.element("p", &[("title", "a\"b"), ("hidden", "")], "<b>&'\u{7}");
        let expected = "<p title=\"a&quot;b\" hidden>&lt;b&gt;&amp;&#39;\u{fffd}</p>";
        assert_eq!(html.finish(), expected);
    }

    #[test]
    fn numbers_stay_with_their_units() {
        let held = held_together("61.5 m off (n = 5), 3.6 % of 12 legs m, ± 2");
        let expected = "61.5\u{a0}m off (n\u{a0}=\u{a0}5), 3.6\u{a0}% of 12 legs m,\u{a0}±\u{a0}2";
        assert_eq!(held, expected);
    }

    #[test]
    fn no_name_ends_a_script() {
        let json = json_in_script(r#"{"name":"</script><!--"}"#);
        assert_eq!(json, r#"{"name":"\u003c/script\u003e\u003c!--"}"#);
        let read: serde_json::Value = serde_json::from_str(&json).unwrap_or_default();
        assert_eq!(read["name"], "</script><!--");
    }
}
