//! Which animals are compared in what, and the rows that come of it.

use super::headlines::{HEADLINES, Headline};
use super::question::{Question, groupings};
use super::{Analysis, microhabitat, places, usage};
use crate::adjustment::path::Path;
use crate::maths::parallel;
use crate::maths::quantity::Bearing;
use crate::maths::statistics::rank::holm;
use crate::measures::compare::animals::{Roster, TrailValue, averages};
use crate::measures::compare::factors::Factor;
use crate::measures::compare::groups::{Group, shared, split, test_within};
use crate::measures::compare::summary::{Resampled, Summary};
use crate::measures::compare::{
    TestRow, censored, covariate, directions, family, groups, pairs, repeated,
};
use crate::measures::metrics::{Bound, METRICS, Metric};

/// One row of `groups.csv`.
#[derive(Clone, Debug)]
pub struct GroupRow {
    /// Of which metric.
    pub metric: Metric,
    /// Of which part of the trails.
    pub part: usize,
    /// By which factor; blank for all animals.
    pub factor: String,
    /// Which level.
    pub group: String,
    /// What its animals come to.
    pub summary: Summary,
}

/// One row of `tests.csv`.
#[derive(Clone, Debug)]
pub struct MetricTest {
    /// Of which metric, or what else was tested.
    pub metric: &'static str,
    /// Of which part of the trails.
    pub part: usize,
    /// By or against which factor.
    pub factor: String,
    /// What was found.
    pub row: TestRow,
}

/// A question with all that is found.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// What was compared.
    pub question: Question,
    /// The rows of `groups.csv`.
    pub groups: Vec<GroupRow>,
    /// The rows of `tests.csv`.
    pub tests: Vec<MetricTest>,
    /// Why some of it could not be asked.
    pub problems: Vec<String>,
}

impl Comparison {
    /// Answers a question.
    pub fn of(analysis: &Analysis, question: Question) -> Self {
        let groups = group_rows(analysis, &question);
        let tests = test_rows(analysis, &question);
        Self { question, groups, tests, problems: Vec::new() }
    }
}

/// What `survey.toml` asks, and what comes of it; computed once, since tables, methods and answer
/// all rest on it.
pub fn asked(analysis: &Analysis) -> &Comparison {
    analysis.asked.get_or_init(|| {
        let (question, problems) = Question::of(analysis, &analysis.survey.settings.compare);
        Comparison { problems, ..Comparison::of(analysis, question) }
    })
}

/// Whose trails were asked for.
pub fn roster(analysis: &Analysis) -> Roster {
    let listed: Vec<usize> =
        analysis.shown_paths().filter_map(|path| analysis.listed(path)).collect();
    Roster::of(&analysis.survey, &listed)
}

/// A metric of every trail asked for that stands in the trails table and has it.
pub fn trail_values(analysis: &Analysis, metric: Metric, part: usize) -> Vec<TrailValue> {
    let of = |path: &Path| {
        let row = analysis.trails[path.trail].value(metric, part)?;
        let measured = row.measured?;
        let (value, se, at_least) = (measured.value, measured.se, row.at_least);
        Some(TrailValue { listed: analysis.listed(path)?, value, se, at_least })
    };
    analysis.shown_paths().filter_map(of).filter(|value| value.value.is_finite()).collect()
}

/// Whether means of a metric make sense: not of angles on a circle, nor of p values.
pub fn has_mean(metric: Metric) -> bool {
    !matches!(metric, Metric::NetBearing | Metric::TurnMean | Metric::TurnRayleighP)
}

/// The interval of a mean without what cannot be: no length below zero, no share above one.
fn possible(metric: Metric, interval: Option<[f64; 2]>) -> Option<[f64; 2]> {
    let is_share = metric.entry().name.ends_with("share") || metric == Metric::Straightness;
    let is_rate = matches!(
        metric,
        Metric::RatePerNight
            | Metric::RatePerHour
            | Metric::NetDisplacement
            | Metric::ClimbsPer100m
    );
    let least = if is_share || is_rate || is_total(metric) { 0.0 } else { f64::NEG_INFINITY };
    let most = if is_share { 1.0 } else { f64::INFINITY };
    interval.map(|ends| ends.map(|end| end.clamp(least, most)))
}

/// Whether a value that is "at least" is one that would have grown with the thread: a total, or the
/// greatest of something. A mean that is too low since an anchor was out of reach is not.
fn is_total(metric: Metric) -> bool {
    matches!(metric.entry().bound, Bound::Total | Bound::Greatest)
}

/// Every metric that is compared, in both parts.
pub fn compared(analysis: &Analysis) -> Vec<(Metric, usize)> {
    let wanted = METRICS.iter().filter(|entry| analysis.wanted.all_metrics || !entry.extended);
    let metrics = wanted.map(|entry| entry.metric).filter(|metric| has_mean(*metric));
    metrics.flat_map(|metric| [(metric, 0), (metric, 1)]).collect()
}

/// Does `work` for every metric, shared out among the cores; the order of the rows is that of the metrics.
/// Resamples depend on the seed and the size of a sample alone, so that each share may draw its
/// own.
fn each_metric<Row: Send>(
    analysis: &Analysis,
    work: impl Fn(Metric, usize, &mut Resampled) -> Vec<Row> + Sync,
) -> Vec<Row> {
    let jobs = compared(analysis);
    let rows = |jobs: &&[(Metric, usize)]| {
        let mut resampled = match analysis.wanted.draws {
            0 => Resampled::none(),
            _ => Resampled::new(analysis.wanted.seed),
        };
        let of = |(metric, part): &(Metric, usize)| work(*metric, *part, &mut resampled);
        jobs.iter().flat_map(of).collect::<Vec<Row>>()
    };
    let shares: Vec<&[_]> = jobs.chunks(jobs.len().div_ceil(parallel::count()).max(1)).collect();
    parallel::each(&shares, rows).into_iter().flatten().collect()
}

/// The two states of the same animals, of those that have both.
fn paired(roster: &Roster, question: &Question, values: &[TrailValue]) -> Option<[Group; 2]> {
    let (factor, levels) = question.pairs.as_ref()?;
    let of = |level: &String| Group {
        name: level.clone(),
        values: averages(roster, values, |row| factor.level(row) == Some(level)),
    };
    let [mut first, mut second] = [of(&levels[0]), of(&levels[1])];
    let has = |group: &Group, animal| group.values.iter().any(|other| other.animal == animal);
    first.values.retain(|value| has(&second, value.animal));
    second.values.retain(|value| has(&first, value.animal));
    Some([first, second])
}

/// Summaries of all animals, and of each group: the groups that were asked for, else those that
/// animals are shown by.
pub fn group_rows(analysis: &Analysis, question: &Question) -> Vec<GroupRow> {
    let roster = roster(analysis);
    if roster.animals.is_empty() {
        return Vec::new();
    }
    let by = if question.is_nothing() { groupings(analysis) } else { question.by.clone() };
    each_metric(analysis, |metric, part, resampled| {
        let values = trail_values(analysis, metric, part);
        let mut row = |factor: &str, group: &Group, restricted| GroupRow {
            metric,
            part,
            factor: factor.to_owned(),
            group: group.name.clone(),
            summary: {
                let found = Summary::with_intervals(&group.values, resampled);
                let mean_interval = possible(metric, found.mean_interval);
                Summary { mean_interval, restricted, ..found }
            },
        };
        let mut add = |factor: &str, groups: &[Group]| -> Vec<GroupRow> {
            let values: Vec<&[_]> = groups.iter().map(|group| group.values.as_slice()).collect();
            let restricted = if is_total(metric) {
                censored::restricted_means(&values)
            } else {
                vec![None; values.len()]
            };
            groups.iter().zip(restricted).map(|(group, mean)| row(factor, group, mean)).collect()
        };
        let all = averages(&roster, &values, |_| true);
        let mut rows = add("", &[Group { name: "all".into(), values: all }]);
        for factor in &by {
            rows.extend(add(&factor.name, &split(&roster, factor, &values)));
        }
        if let Some((states, (factor, _))) =
            paired(&roster, question, &values).zip(question.pairs.as_ref())
        {
            rows.extend(add(&factor.name, &states));
        }
        rows
    })
}

/// Every test: of each metric by each factor, then of directions, then of selection.
pub fn test_rows(analysis: &Analysis, question: &Question) -> Vec<MetricTest> {
    let roster = roster(analysis);
    if roster.animals.is_empty() {
        return Vec::new();
    }
    let seed = analysis.wanted.seed;
    let mut rows = each_metric(analysis, |metric, part, _| {
        let values = trail_values(analysis, metric, part);
        let mut rows = Vec::new();
        let mut add = |factor: &Factor, found: Vec<TestRow>| {
            let (metric, factor) = (metric.entry().name, &factor.name);
            let test = |row| MetricTest { metric, part, factor: factor.clone(), row };
            rows.extend(found.into_iter().map(test));
        };
        for factor in &question.by {
            let all = split(&roster, factor, &values);
            let shared = shared(&all).len();
            add(factor, groups::tests(&all, shared, seed));
            if shared == 0 && question.within.is_none() && is_total(metric) {
                add(factor, censored::tests(&all, seed));
            }
            let levels: Vec<String> = all.iter().map(|group| group.name.clone()).collect();
            let nights = repeated::nights(&roster, &values);
            if shared == 0 {
                add(factor, repeated::difference(&levels, factor, &nights).into_iter().collect());
            }
            if let Some(within) = &question.within {
                add(factor, vec![test_within(&all, &roster, within, seed)]);
            }
        }
        for factor in &question.with {
            add(factor, covariate::tests(&covariate::pairs(&roster, factor, &values), seed));
            add(factor, repeated::slopes(factor, &repeated::nights(&roster, &values), seed));
        }
        if let Some(([first, second], (factor, _))) =
            paired(&roster, question, &values).zip(question.pairs.as_ref())
        {
            add(factor, vec![pairs::test(&first, &second, seed)]);
        }
        rows
    });
    allow_for_questions(analysis, &roster, question, &mut rows);
    rows.extend(direction_tests(analysis, &roster, question));
    rows.extend(usage::selection_tests(analysis));
    rows.extend(microhabitat::tests(analysis));
    rows
}

/// Adjusts p for the questions of each factor, and for the number of factors.
fn allow_for_questions(
    analysis: &Analysis,
    roster: &Roster,
    question: &Question,
    rows: &mut [MetricTest],
) {
    let seed = analysis.wanted.seed;
    let values: Vec<Vec<TrailValue>> =
        HEADLINES.iter().map(|h| trail_values(analysis, h.metric, h.part)).collect();
    let factors =
        (question.by.len() + question.with.len() + usize::from(question.pairs.is_some())) as f64;
    for factor in &question.by {
        let groups: Vec<Vec<Group>> =
            values.iter().map(|values| split(roster, factor, values)).collect();
        let several = groups.iter().any(|groups| groups.len() > 2);
        let test = if several { "kruskal_wallis" } else { "permutation_welch" };
        set_rows(rows, factor, test, family::between(&groups, seed), factors);
    }
    if let Some((factor, _)) = &question.pairs {
        let pairs = values.iter().map(|values| {
            let states = paired(roster, question, values);
            states.map_or(Vec::new(), |[first, second]| pairs::differences(&first, &second))
        });
        let adjusted = family::within(&pairs.collect::<Vec<_>>(), seed);
        set_rows(rows, factor, "sign_permutation", adjusted, factors);
    }
    for factor in &question.by {
        let of = |headline: &Headline, rows: &mut [MetricTest]| {
            headline.row(rows, &factor.name, "log_rank").and_then(|row| row.p)
        };
        let count = HEADLINES.len() as f64;
        let p = HEADLINES.iter().map(|headline| of(headline, rows).map(|p| (count * p).min(1.0)));
        let adjusted = p.collect();
        set_rows(rows, factor, "log_rank", adjusted, factors);
    }
    let with = question.with.iter();
    let by_holm =
        with.flat_map(|factor| ["slope", "slope_within_animals"].map(|test| (factor, test)));
    let strata = question.by.iter().map(|factor| (factor, "permutation_within"));
    for (factor, test) in by_holm.chain(strata.filter(|_| question.within.is_some())) {
        let p: Vec<Option<f64>> = HEADLINES
            .iter()
            .map(|headline| headline.row(rows, &factor.name, test).and_then(|row| row.p))
            .collect();
        let mut holm = holm(&p.iter().copied().flatten().collect::<Vec<_>>()).into_iter();
        let adjusted = p.iter().map(|p| p.and_then(|_| holm.next())).collect();
        set_rows(rows, factor, test, adjusted, factors);
    }
}

/// Gives the questions of a factor their adjusted p, never below their own, `factors` times (Bonferroni).
fn set_rows(
    rows: &mut [MetricTest],
    factor: &Factor,
    test: &str,
    adjusted: Vec<Option<f64>>,
    factors: f64,
) {
    for (headline, adjusted) in HEADLINES.iter().zip(adjusted) {
        if let Some(row) = headline.row(rows, &factor.name, test) {
            let all = row.p.zip(adjusted).map(|(p, adjusted)| adjusted.max(p));
            row.p_adjusted = all.map(|p| (factors * p).min(1.0));
        }
    }
}

/// One heading an animal.
pub fn headings(analysis: &Analysis, part: usize) -> Vec<Bearing> {
    let bearings = trail_values(analysis, Metric::NetBearing, part);
    directions::headings(&roster(analysis), &bearings, |_| true)
}

/// Directions of all animals, group by group, between two groups, and towards places.
fn direction_tests(analysis: &Analysis, roster: &Roster, question: &Question) -> Vec<MetricTest> {
    let metric = Metric::NetBearing.entry().name;
    let seed = analysis.wanted.seed;
    let of_part = |part| {
        let bearings = trail_values(analysis, Metric::NetBearing, part);
        let all = directions::headings(roster, &bearings, |_| true);
        let row = |factor: &str, row| MetricTest { metric, part, factor: factor.to_owned(), row };
        let mut rows: Vec<MetricTest> = directions::tests(&all, question.direction)
            .into_iter()
            .chain([directions::mean_direction("all", &all, seed)])
            .map(|found| row("", found))
            .collect();
        for factor in &question.by {
            let levels = factor.levels(bearings.iter().map(|value| value.listed));
            let groups: Vec<(String, Vec<Bearing>)> = levels
                .into_iter()
                .map(|level| {
                    let take = |listed| factor.level(listed) == Some(&level);
                    let own = directions::headings(roster, &bearings, take);
                    (level, own)
                })
                .collect();
            let means =
                groups.iter().map(|(level, own)| directions::mean_direction(level, own, seed));
            rows.extend(means.map(|found| row(&factor.name, found)));
            if let ([first, second], true) = (&groups[..], factor.of_animal) {
                let pair = [first, second].map(|(level, own)| (level.as_str(), own.as_slice()));
                let found = directions::between(pair, seed).into_iter();
                rows.extend(found.map(|found| row(&factor.name, found)));
            }
        }
        rows.extend(
            places::tests(analysis, roster, &bearings, seed)
                .into_iter()
                .map(|(place, found)| row(&place, found)),
        );
        rows
    };
    (0..2).flat_map(of_part).collect()
}
