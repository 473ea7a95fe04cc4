//! The methods text as paragraphs: the little of Markdown that it is written in.

use super::html::{Html, held_together};

/// The text; its own first heading is that of the section.
pub(super) fn section(markdown: &str, html: &mut Html) {
    html.within("div", &[("class", "prose")], |html| lines(markdown, html));
}

fn lines(markdown: &str, html: &mut Html) {
    let mut list: Vec<String> = Vec::new();
    for line in markdown.lines() {
        if let Some(entry) = line.strip_prefix("- ") {
            list.push(entry.to_owned());
            continue;
        }
        end_list(&mut list, html);
        match line {
            "" => {}
            _ if line.starts_with("# ") => {}
            _ => match line.strip_prefix("## ") {
                Some(heading) => html.element("h3", &[], heading),
                None => html.within("p", &[], |html| strong(line, html)),
            },
        }
    }
    end_list(&mut list, html);
}

fn end_list(list: &mut Vec<String>, html: &mut Html) {
    if !list.is_empty() {
        html.list("references", list);
        list.clear();
    }
}

/// A line that may begin with words in bold.
fn strong(line: &str, html: &mut Html) {
    match line.strip_prefix("**").and_then(|rest| rest.split_once("**")) {
        Some((bold, rest)) => {
            html.element("strong", &[], bold);
            slanted(&held_together(rest), html);
        }
        None => slanted(&held_together(line), html),
    }
}

/// Words between stars, as names of species are; a star by itself is a star.
fn slanted(line: &str, html: &mut Html) {
    let mut rest = line;
    while let Some((before, words, after)) = first_slanted(rest) {
        html.text(before);
        html.element("em", &[], words);
        rest = after;
    }
    html.text(rest);
}

fn first_slanted(line: &str) -> Option<(&str, &str, &str)> {
    let (before, rest) = line.split_once('*')?;
    let (words, after) = rest.split_once('*')?;
    let starts = before.is_empty() || before.ends_with([' ', '(']);
    let ends = after.is_empty() || after.starts_with([' ', ')', ',', '.', ';']);
    (starts && ends && !words.is_empty()).then_some((before, words, after))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_bold_words_and_lists() {
        let mut html = Html::default();
        section(
            "# Methods\n\n**Trails.** We <i> *Glis glis*, 2 * 3*4.\n\n## References\n\n- A 1999\n- B 2000\n",
            &mut html,
        );
        let expected = "<div class=\"prose\"><p><strong>Trails.</strong> We &lt;i&gt; <em>Glis glis</em>, 2 * 3*4.</p><h3>References</h3>\
                        <ul class=\"references\"><li>A 1999</li><li>B 2000</li></ul></div>";
        assert_eq!(html.finish(), expected);
    }
}
