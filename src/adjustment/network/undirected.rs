//! The legs of a trail that have no direction of their own.

use super::{Course, Line, Network, Trail};
use crate::survey::Survey;

/// The lines of a trail that have no direction of their own and do not stand plumb, in walking
/// order.
pub fn undirected<'a>(network: &'a Network, trail: &'a Trail) -> impl Iterator<Item = usize> + 'a {
    let own = network.visits_of(trail).iter().filter_map(|visit| visit.line);
    own.filter(|&line| lacks_direction(&network.lines[line]))
}

/// In a trail with a profile only every leg is laid northward, whatever was read of it.
fn lacks_direction(line: &Line) -> bool {
    let read = line.needle().is_some() || line.turned_from.and(line.turn).is_some();
    line.course.is_assumed() || (line.course == Course::Profile && !read)
}

/// How many legs are named one by one.
const NAMED: usize = 6;

/// Which legs of a trail have no direction, in words: `2 of 11 legs have no direction: 6–7, 9–10`.
/// `None` where all have one.
pub fn undirected_words(survey: &Survey, network: &Network, trail: &Trail) -> Option<String> {
    let found: Vec<usize> = undirected(network, trail).collect();
    let legs = network.visits_of(trail).iter().filter(|visit| visit.line.is_some()).count();
    let name = |node: usize| survey.text(network.nodes[node].name);
    let named = |&line: &usize| {
        let line = &network.lines[line];
        format!("{}–{}", name(line.from), name(line.to))
    };
    match found.len() {
        0 => None,
        count if count == legs => Some(format!("none of {legs} legs has a direction")),
        count => {
            let names: Vec<String> = found.iter().take(NAMED).map(named).collect();
            let more = if count > NAMED { " …" } else { "" };
            let have = if count == 1 { "has" } else { "have" };
            Some(format!("{count} of {legs} legs {have} no direction: {}{more}", names.join(", ")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::written::survey_with;
    use super::undirected_words;

    /// What is said of a trail of level legs, `N` with a bearing and `.` without.
    fn words(settings: &str, legs: &str) -> Option<String> {
        let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,1");
        for (at, leg) in legs.chars().enumerate() {
            let bearing = if leg == 'N' { "40" } else { "" };
            anchors += &format!("\nBor,{},2,{bearing},1", at + 1);
        }
        let (survey, network) = survey_with(settings, &anchors, "");
        undirected_words(&survey, &network, &network.trails[0])
    }

    #[test]
    fn legs_without_a_direction_are_named() {
        let usual = |legs| words("", legs);
        let said = Some("2 of 11 legs have no direction: 6–7, 9–10".into());
        assert_eq!(usual("NNNNNNN.NN."), Some("2 of 11 legs have no direction: 7–8, 10–11".into()));
        assert_eq!(usual("NNNNNN.NN.N"), said);
        // Where they are too many and the trail has a profile only, they are the same.
        assert_eq!(usual("NN..N"), Some("2 of 5 legs have no direction: 2–3, 3–4".into()));
        assert_eq!(words("missing_bearing = 'blank'", "NNNNNN.NN.N"), said);
        assert_eq!(usual("NNNN."), Some("1 of 5 legs has no direction: 4–5".into()));
        assert_eq!(usual("NNN"), None);
        assert_eq!(usual(""), None);
        assert_eq!(usual("..."), Some("none of 3 legs has a direction".into()));
        assert_eq!(
            usual("N......."),
            Some("7 of 8 legs have no direction: 1–2, 2–3, 3–4, 4–5, 5–6, 6–7 …".into())
        );
    }
}
