//! `forecast` of a study: what difference it would find, how wide intervals will be, how many animals it
//! takes.

use super::args::{ForecastArgs, SurveyArgs};
use super::options::{self, Study};
use super::terminal::{Terminal, Tone};
use super::{Failure, rebuild};
use crate::maths::quantity::count_of;
use crate::maths::statistics::power::{Spread, Width};
use crate::planning::study::limits::{limits, limits_of_pilot};
use crate::planning::study::pilot::{PilotSurvey, of_survey};
use crate::planning::study::words::{Subject, of_pilot, sentences, why_upper};
use crate::planning::study::{Outlook, Question};
use crate::results::answer::capital;
use crate::results::{PART_NAMES, Wanted};
use serde_json::{Value, json};

/// What is expected by each spread that is planned by.
struct Expected {
    own: Outlook,
    /// By the upper limit of a pilot.
    upper: Option<Outlook>,
}

pub(super) fn run(args: &ForecastArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let study = options::study(&args.study, args.seed)?;
    let pilot = pilot(args, &study, terminal)?;
    let spread = match (&pilot, study.stated) {
        (Some(pilot), _) => pilot.pilot.spread,
        (None, Some(stated)) => stated,
        (None, None) => return Err(Failure::Usage("a --pilot or --sd-animals is needed".into())),
    };
    let upper = pilot.as_ref().and_then(|pilot| study.question.upper(&pilot.pilot));
    let found = terminal.with_progress(args.print.quiet, |progress| {
        progress.set_total(1);
        let spreads: Vec<Spread> = [spread].into_iter().chain(upper).collect();
        let mut outlooks = study.question.outlooks(&spreads).into_iter();
        progress.step();
        Some(Expected { own: outlooks.next()??, upper: outlooks.next().flatten() })
    });
    let found = found.ok_or_else(|| {
        Failure::Usage("animals that do not differ at all leave nothing to forecast".to_owned())
    })?;
    let subject = subject(&study, pilot.as_ref());
    let told = Told::of(&study.question, &subject, pilot.as_ref(), &found);
    if args.print.json {
        let result = as_json(&study, &subject, pilot.as_ref(), &found, &told);
        terminal.print(&format!("{result:#}\n"))?;
    } else if !args.print.quiet {
        terminal.print(&told.laid_out(terminal))?;
    }
    terminal.flush()
}

/// The pilot survey, where there is one.
fn pilot(
    args: &ForecastArgs,
    study: &Study,
    terminal: &mut Terminal,
) -> Result<Option<PilotSurvey>, Failure> {
    let Some(survey) = args.study.pilot.clone() else { return Ok(None) };
    let (set, print) = (args.instruments.set.clone(), args.print.clone());
    let survey = SurveyArgs { survey, trails: Vec::new(), set, print };
    let all_metrics = study.metric.entry().extended;
    let wanted = Wanted { seed: args.seed, all_metrics, ..Wanted::default() };
    let (analysis, _) = rebuild::analysed(&survey, wanted, terminal)?;
    let asked = &analysis.survey.settings.compare.by;
    let by = args.study.by.as_deref().or_else(|| asked.first().map(String::as_str));
    let by = by.filter(|_| !study.question.of_pairs());
    of_survey(&analysis, by, study.metric, study.part).map(Some).map_err(Failure::Usage)
}

fn subject(study: &Study, pilot: Option<&PilotSurvey>) -> Subject {
    let names = pilot.map(|pilot| pilot.groups.iter().map(|(name, _)| name.clone()).collect());
    let groups = names.and_then(|names: Vec<String>| <[String; 2]>::try_from(names).ok());
    Subject { metric: study.metric, part: study.part, groups }
}

/// Everything in words.
struct Told {
    head: String,
    spread: Vec<[String; 3]>,
    own: Vec<String>,
    /// Why, and what, by the upper limit.
    upper: Option<(String, Vec<String>)>,
    limits: Vec<String>,
}

impl Told {
    fn of(
        question: &Question,
        subject: &Subject,
        pilot: Option<&PilotSurvey>,
        found: &Expected,
    ) -> Self {
        let whose = pilot
            .map_or("as stated".to_owned(), |pilot| format!("of a pilot of {}", of_pilot(pilot)));
        let mut limits = limits(question);
        if let Some(pilot) = pilot {
            limits.splice(0..0, limits_of_pilot(question, subject, pilot));
        }
        let upper = found.upper.as_ref().zip(pilot).map(|(upper, pilot)| {
            let why = why_upper(question, pilot, found.own.sd, upper.sd);
            (why, sentences(question, subject, upper))
        });
        Self {
            head: format!("{}: standard deviations {whose}", capital(&subject.name())),
            spread: spread(question, subject, pilot, &found.own),
            own: sentences(question, subject, &found.own),
            upper,
            limits,
        }
    }

    fn laid_out(&self, terminal: &Terminal) -> String {
        let mut text = format!("{}\n", terminal.toned(Tone::Strong, &self.head));
        for [what, sd, n] in &self.spread {
            text += format!("  {what:<34} {sd:>10}   {n}").trim_end();
            text.push('\n');
        }
        let mut list = |head: &str, sentences: &[String]| {
            let head = terminal.toned(Tone::Strong, head);
            text += &format!("\n{head}\n- {}\n", sentences.join("\n- "));
        };
        let by = match self.upper {
            Some(_) => "Planned by the spread that the pilot found",
            None => "To be expected",
        };
        list(by, &self.own);
        if let Some((why, upper)) = &self.upper {
            list(why, upper);
        }
        list("Limits of this forecast", &self.limits);
        text
    }
}

/// The parts of the spread, and by how many each is known.
fn spread(
    question: &Question,
    subject: &Subject,
    pilot: Option<&PilotSurvey>,
    own: &Outlook,
) -> Vec<[String; 3]> {
    let Spread { animal, night, measurement } = own.spread;
    let by = |count: &dyn Fn(&PilotSurvey) -> String| pilot.map_or(String::new(), count);
    let sd = |sd: f64| subject.in_unit(sd);
    let nights = count_of(question.nights, "night");
    let last = if question.of_pairs() {
        format!("of the change, {nights} each time")
    } else {
        format!("of animals' means over {nights}")
    };
    vec![
        [
            "between animals".to_owned(),
            if question.of_pairs() && night.is_some() { "cancels".to_owned() } else { sd(animal) },
            by(&|pilot| count_of(pilot.pilot.animals, "animal")),
        ],
        [
            "between nights of one animal".to_owned(),
            night.map_or("not known".to_owned(), sd),
            by(&|pilot| {
                format!("{} with two nights or more", count_of(pilot.with_nights, "animal"))
            }),
        ],
        [
            "by measurement, of one night".to_owned(),
            sd(measurement),
            by(&|pilot| count_of(pilot.with_error, "trail")),
        ],
        [last, sd(own.sd), String::new()],
    ]
}

fn as_json(
    study: &Study,
    subject: &Subject,
    pilot: Option<&PilotSurvey>,
    found: &Expected,
    told: &Told,
) -> Value {
    let question = &study.question;
    json!({
        "metric": subject.metric.entry().name,
        "unit": subject.metric.entry().unit,
        "part": PART_NAMES[subject.part],
        "design": if question.of_pairs() { "pairs" } else { "groups" },
        "animals": question.asked(),
        "groups": subject.groups,
        "nights": question.nights,
        "difference": question.difference,
        "power_wanted": question.power,
        "sd_change": question.change,
        "pilot": pilot.map(pilot_json),
        "expected": outlook_json(&found.own),
        "expected_by_upper_limit": found.upper.as_ref().map(outlook_json),
        "answer": told.own,
        "answer_by_upper_limit": told.upper.as_ref().map(|(_, upper)| upper),
        "limits": told.limits,
    })
}

fn pilot_json(pilot: &PilotSurvey) -> Value {
    let groups = pilot.groups.iter().map(|(name, n)| json!({"group": name, "animals": n}));
    json!({
        "groups": groups.collect::<Vec<_>>(),
        "degrees_of_freedom": pilot.pilot.degrees_of_freedom,
        "trails": pilot.trails,
        "trails_with_error": pilot.with_error,
        "trails_at_least": pilot.at_least,
        "trails_of_more_nights": pilot.long,
        "animals_with_nights": pilot.with_nights,
        "skewed": pilot.skewed,
    })
}

fn outlook_json(outlook: &Outlook) -> Value {
    let width = |width: &Option<Width>| {
        width.map(|width| json!({"mean": width.mean, "ninetieth": width.ninetieth}))
    };
    let Spread { animal, night, measurement } = outlook.spread;
    json!({
        "sd_animals": animal, "sd_nights": night, "sd_measurement": measurement, "sd": outlook.sd,
        "animals": outlook.animals, "least_p": outlook.least_p,
        "power": outlook.power.map(|power| power.power),
        "power_standard_error": outlook.power.map(|power| power.standard_error),
        "width_of_difference": width(&outlook.width),
        "width_of_means": outlook.widths_of_means.iter().map(width).collect::<Vec<_>>(),
        "detectable": outlook.detectable, "animals_needed": outlook.needed,
    })
}
