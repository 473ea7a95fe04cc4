//! Which animals are compared in what, and the rows that come of it.

use super::headlines::HEADLINES;
use super::question::{Question, groupings};
use super::{Analysis, usage};
use crate::compare::animals::{Roster, TrailValue, averages};
use crate::compare::factors::Factor;
use crate::compare::groups::{Group, shared, split, test_within};
use crate::compare::summary::{Resampled, Summary};
use crate::compare::{TestRow, covariate, directions, family, groups, pairs};
use crate::cores;
use crate::metrics::{METRICS, Metric};
use crate::path::Path;
use crate::quantity::Bearing;
use crate::statistics::rank::holm;

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

/// Every metric that is compared, in both parts.
fn compared(analysis: &Analysis) -> Vec<(Metric, usize)> {
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
    let shares: Vec<&[_]> = jobs.chunks(jobs.len().div_ceil(cores::count()).max(1)).collect();
    cores::each(&shares, rows).into_iter().flatten().collect()
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
        let mut row = |factor: &str, group: &str, values: &[_]| GroupRow {
            metric,
            part,
            factor: factor.to_owned(),
            group: group.to_owned(),
            summary: Summary::with_intervals(values, resampled),
        };
        let mut rows = vec![row("", "all", &averages(&roster, &values, |_| true))];
        for factor in &by {
            for group in split(&roster, factor, &values) {
                rows.push(row(&factor.name, &group.name, &group.values));
            }
        }
        if let Some((states, (factor, _))) =
            paired(&roster, question, &values).zip(question.pairs.as_ref())
        {
            for state in &states {
                rows.push(row(&factor.name, &state.name, &state.values));
            }
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
            add(factor, groups::tests(&all, shared(&all).len(), seed));
            if let Some(within) = &question.within {
                add(factor, vec![test_within(&all, &roster, within, seed)]);
            }
        }
        for factor in &question.with {
            add(factor, covariate::tests(&covariate::pairs(&roster, factor, &values), seed));
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
    let by_holm = question.with.iter().map(|factor| (factor, "slope"));
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
    directions::headings(&roster(analysis), &bearings)
}

fn direction_tests(analysis: &Analysis, roster: &Roster, question: &Question) -> Vec<MetricTest> {
    let metric = Metric::NetBearing.entry().name;
    let of_part = |part| {
        let bearings = trail_values(analysis, Metric::NetBearing, part);
        let headings = directions::headings(roster, &bearings);
        let tests = directions::tests(&headings, question.direction).into_iter();
        tests.map(move |row| MetricTest { metric, part, factor: String::new(), row })
    };
    (0..2).flat_map(of_part).collect()
}
