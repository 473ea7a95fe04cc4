//! What an animal carries: share of its body mass, thread for a share, days.
//!
//! In: rows of animals and trails, or one animal by hand, and the limits. Out: shares with the
//! bobbin full and empty, the thread an animal may carry, a verdict, days. All masses in grams.
//! Assumes a bobbin without a core, so that its weight is its thread; what else is fixed on (glue,
//! cover, straps) stays when the thread has run out.
//! The limits are parameters: a percentage alone is a poor rule ([`Source::Casper2009`]), climbing
//! lizards were slowed at 10 % ([`Source::Knapp2009`]), and permit, ethics committee and vet decide.

use crate::survey::Survey;
use crate::survey::names::Name;
use crate::survey::rows::AnimalRow;
use crate::survey::sources::Source;

/// Weight of a metre of thread where nobody weighed it, grams: fine nylon. Common practice, no
/// source; every result that rests on it says so.
pub const ASSUMED_THREAD_G_PER_M: f64 = 0.010;

/// What is said beside every load, with where it was read.
pub const CAUTIONS: [(&str, Option<Source>); 5] = [
    (
        "Climbing lizards were slowed by 10 % of their body mass, and 7.5 % was advised.",
        Some(Source::Knapp2009),
    ),
    ("A percentage of body mass alone is a poor rule.", Some(Source::Casper2009)),
    ("Shape, place and days count as well: watch how the animal moves with its device.", None),
    ("Weigh the device as it is fixed on, glue included, and ten metres of your own thread.", None),
    ("Weigh the animal on the day: a mass from last week is not its mass.", None),
];

/// Who decides, since no program does.
pub const WHO_DECIDES: &str =
    "Your permit, your ethics committee, your vet and local rules decide, not this table.";

/// Device mass over body mass; `None` where either is not known or the body mass is zero.
pub fn device_share(animal: &AnimalRow) -> Option<f64> {
    let (device, body) = (animal.device_mass_g?, animal.body_mass_g?);
    (body > 0.0).then(|| device / body)
}

/// Days from fixing the device on to taking it off.
pub fn days_carried(animal: &AnimalRow) -> Option<f64> {
    let (on, off) = (animal.attached?, animal.removed?);
    Some(off.duration_since(on).as_secs_f64() / 86_400.0)
}

/// What bounds a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// The largest share of body mass, of one.
    pub share: f64,
    /// The most days.
    pub days: f64,
    /// Weight of a metre of thread, grams; greater than zero.
    pub thread_g_per_m: f64,
}

/// An animal and what is fixed on it, grams.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Carrier {
    /// The animal's row in a survey; `None` for one stated by hand.
    pub animal: Option<Name>,
    /// Its body mass; greater than zero.
    pub body_g: f64,
    /// The whole device, bobbin full.
    pub device_g: Option<f64>,
    /// The thread in the full bobbin, part of the device.
    pub thread_g: Option<f64>,
    /// How many days it carries the device.
    pub days: Option<f64>,
}

/// How a load stands to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// At most the limit, bobbin full.
    Within,
    /// Over it with a full bobbin, within it once so many metres of thread have run out.
    UntilRunOut(f64),
    /// Over it, even with an empty bobbin.
    Over,
    /// Over it with a full bobbin; what the thread weighs is not known.
    OverFull,
}

impl Verdict {
    /// The word for a machine.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::UntilRunOut(_) => "over_until_run_out",
            Self::Over => "over",
            Self::OverFull => "over_full",
        }
    }
}

/// What a carrier's load comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Device over body mass, bobbin full.
    pub full: Option<f64>,
    /// The same when all thread has run out.
    pub empty: Option<f64>,
    /// The heaviest device within the limit, grams.
    pub allowed_g: f64,
    /// The thread that the bobbin holds, metres.
    pub holds_m: Option<f64>,
    /// The most thread within the limit, metres; 0 where the rest of the device is over it alone.
    pub may_carry_m: Option<f64>,
    /// The lightest animal that may carry this device, grams.
    pub lightest_g: Option<f64>,
    /// How the device stands to the limit.
    pub verdict: Option<Verdict>,
    /// Whether the days are within theirs.
    pub days_within: Option<bool>,
}

impl Carrier {
    /// The device without its thread, grams; `None` where the thread would outweigh the whole.
    pub fn rest_g(&self) -> Option<f64> {
        let rest = self.device_g? - self.thread_g?;
        (rest >= 0.0).then_some(rest)
    }

    /// This load against `limits`.
    ///
    /// ```text
    /// full = D / M,   empty = (D − B) / M,   thread for a share s = (s M − (D − B)) / w
    /// ```
    /// M body, D whole device, B thread in the full bobbin, w weight of a metre.
    pub fn load(&self, limits: &Limits) -> Load {
        let (body, rest) = (self.body_g, self.rest_g());
        let full = self.device_g.map(|device| device / body);
        let empty = rest.map(|rest| rest / body);
        Load {
            full,
            empty,
            allowed_g: limits.share * body,
            holds_m: rest.and(self.thread_g).map(|thread| thread / limits.thread_g_per_m),
            may_carry_m: rest.map(|rest| thread_m(limits.share, body, rest, limits)),
            lightest_g: self.device_g.map(|device| device / limits.share),
            verdict: full.map(|full| self.verdict(full, empty, limits)),
            days_within: self.days.map(|days| days <= limits.days),
        }
    }

    fn verdict(&self, full: f64, empty: Option<f64>, limits: &Limits) -> Verdict {
        match empty {
            _ if full <= limits.share => Verdict::Within,
            None => Verdict::OverFull,
            Some(empty) if empty > limits.share => Verdict::Over,
            Some(_) => {
                let over_g = (full - limits.share) * self.body_g;
                Verdict::UntilRunOut(over_g / limits.thread_g_per_m)
            }
        }
    }

    /// The same animal with so many metres of thread in its bobbin.
    #[must_use]
    pub fn with_thread(&self, metres: f64, limits: &Limits) -> Self {
        let thread = metres * limits.thread_g_per_m;
        Self { device_g: self.rest_g().map(|rest| rest + thread), thread_g: Some(thread), ..*self }
    }
}

/// Metres of thread that a body of `body` grams may carry for a `share`, beside a device that
/// weighs `rest` grams without it; 0 where the rest alone is over.
pub fn thread_m(share: f64, body: f64, rest: f64, limits: &Limits) -> f64 {
    ((share * body - rest) / limits.thread_g_per_m).max(0.0)
}

/// The animals of a survey whose body mass was written down, in its order. The thread of a full
/// bobbin is the heaviest that any of the animal's trails began with.
pub fn carriers(survey: &Survey) -> Vec<Carrier> {
    let of_animal = |row: &AnimalRow| {
        let own = survey.trails.iter().filter(|trail| trail.animal == Some(row.animal));
        Some(Carrier {
            animal: Some(row.animal),
            body_g: row.body_mass_g.filter(|body| *body > 0.0)?,
            device_g: row.device_mass_g,
            thread_g: own.filter_map(|trail| trail.bobbin_before_g).reduce(f64::max),
            days: days_carried(row).filter(|days| *days >= 0.0),
        })
    };
    survey.animals.iter().filter_map(of_animal).collect()
}

/// About eight round body masses from `low` to `high` grams, both within.
pub fn masses(low: f64, high: f64) -> Vec<f64> {
    let wide = (high - low).max(low / 10.0) / 8.0;
    let power = 10_f64.powf(wide.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    let step = steps.into_iter().find(|step| *step >= wide).unwrap_or(10.0 * power);
    let (first, last) = ((low / step).floor().max(1.0), (high / step).ceil());
    (0..=20)
        .map(|k| (first + f64::from(k)) * step)
        .take_while(|mass| *mass <= last * step)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const LIMITS: Limits = Limits { share: 0.05, days: 14.0, thread_g_per_m: 0.01 };

    fn of(body_g: f64, device_g: f64, thread_g: f64) -> Load {
        let (device_g, thread_g) = (Some(device_g), Some(thread_g));
        Carrier { body_g, device_g, thread_g, ..Carrier::default() }.load(&LIMITS)
    }

    /// Worked by hand: 100 g may carry 5 g; 4 g of device with 3 g of thread leave 1 g, so that
    /// 4 g or 400 m of thread would be within.
    #[test]
    fn a_load_within_its_limit() {
        let load = of(100.0, 4.0, 3.0);
        assert_relative_eq!(load.full.unwrap(), 0.04, epsilon = 1e-12);
        assert_relative_eq!(load.empty.unwrap(), 0.01, epsilon = 1e-12);
        assert_relative_eq!(load.allowed_g, 5.0, epsilon = 1e-12);
        assert_relative_eq!(load.holds_m.unwrap(), 300.0, epsilon = 1e-9);
        assert_relative_eq!(load.may_carry_m.unwrap(), 400.0, epsilon = 1e-9);
        assert_relative_eq!(load.lightest_g.unwrap(), 80.0, epsilon = 1e-9);
        assert_eq!(load.verdict, Some(Verdict::Within));
    }

    /// 60 g may carry 3 g: 4 g are 1 g or 100 m over. 15 g may carry 0.75 g, less than the 1 g
    /// that stays.
    #[test]
    fn a_load_over_its_limit() {
        let Some(Verdict::UntilRunOut(metres)) = of(60.0, 4.0, 3.0).verdict else {
            panic!("over with a full bobbin only")
        };
        assert_relative_eq!(metres, 100.0, epsilon = 1e-9);
        assert_eq!(of(15.0, 4.0, 3.0).verdict, Some(Verdict::Over));
        assert_relative_eq!(of(15.0, 4.0, 3.0).may_carry_m.unwrap(), 0.0);
        let unknown = Carrier { body_g: 60.0, device_g: Some(4.0), ..Carrier::default() };
        assert_eq!(unknown.load(&LIMITS).verdict, Some(Verdict::OverFull));
        assert_eq!(unknown.load(&LIMITS).may_carry_m, None);
    }

    #[test]
    fn a_bobbin_heavier_than_its_device_tells_nothing() {
        let load = of(100.0, 2.0, 3.0);
        assert_eq!((load.empty, load.holds_m, load.may_carry_m), (None, None, None));
    }

    /// 250 m of 10 mg each are 2.5 g; with the 1 g that stays 3.5 g.
    #[test]
    fn a_bobbin_for_wanted_metres() {
        let carrier = Carrier {
            body_g: 100.0,
            device_g: Some(4.0),
            thread_g: Some(3.0),
            ..Default::default()
        };
        let wanted = carrier.with_thread(250.0, &LIMITS);
        assert_relative_eq!(wanted.thread_g.unwrap(), 2.5, epsilon = 1e-12);
        assert_relative_eq!(wanted.device_g.unwrap(), 3.5, epsilon = 1e-12);
    }

    #[test]
    fn body_masses_are_round_and_span_the_range() {
        assert_eq!(masses(60.0, 140.0), (6..=14).map(|k| f64::from(k) * 10.0).collect::<Vec<_>>());
        let masses = masses(33.0, 33.0);
        assert!(masses.len() < 12 && masses[0] <= 33.0 && masses[masses.len() - 1] >= 33.0);
    }
}
