//! Every metric: its fixed name, unit, source, what it needs, and how its interval is found.

use crate::survey::sources::Source;

/// How the 95 % interval follows from the estimate and the draws.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// It has none: a count, a duration, a test, or an estimate that is known to be biased.
    None,
    /// The estimate; freed of what bends it ± 1.96 standard deviations.
    Linear,
    /// The same, around a direction.
    Angle,
    /// From the tape's own precision.
    Tape,
    /// Freed of what bends it, ± 1.96 standard deviations of the levelled path.
    Horizontal,
    /// A climb: freed of what bends it; downward as far as if all that may be level were.
    Climb,
    /// Both climbs together.
    ClimbBoth,
    /// Both climbs over the length.
    ClimbShare,
    /// A climb between reversals: downward by what noise may have added.
    Threshold,
    /// A maximum, which noise can only raise: downward as far as if all that may tie with it did.
    Highest,
    /// Freed of what bends it, ± 1.96 standard deviations.
    Mirror,
    /// The same, lengthened at both ends by what cannot be taken off.
    Bent,
    /// From the estimate to it freed of what bends it, ± 1.96 standard deviations.
    Between,
    /// The quantiles of the draws.
    Quantiles,
    /// One over the interval of straightness.
    Inverse,
    /// The interval of the length over the hours.
    PerHour,
    /// The interval of the length over the nights.
    PerNight,
    /// The interval of the net displacement over the nights.
    NetPerNight,
}

impl Rule {
    /// Whether the draws of the metric itself are needed.
    pub(super) const fn rests_on_draws(self) -> bool {
        !matches!(
            self,
            Self::None
                | Self::Tape
                | Self::Inverse
                | Self::PerHour
                | Self::PerNight
                | Self::NetPerNight
        )
    }
}

/// When a value is only a lower bound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// Never.
    Open,
    /// Where the path is cut short or has a gap.
    Total,
    /// Where, besides, some height was out of reach.
    Greatest,
    /// Where some height was out of reach; what a thread cut short would have added may be lower
    /// as well as higher.
    Reach,
}

/// What a metric cannot do without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// Tape and heights.
    Nothing,
    /// Bearings or turning angles, for a plan.
    Plan,
    /// A plan, and a path in one piece.
    Whole,
    /// Both, and true directions.
    Direction,
}

/// One metric.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// Which.
    pub metric: Metric,
    /// Its fixed name.
    pub name: &'static str,
    /// Its symbol, where the trade has one.
    pub symbol: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// How its interval is found.
    pub rule: Rule,
    /// When it is only a lower bound.
    pub bound: Bound,
    /// What it cannot do without.
    pub needs: Needs,
    /// Whether it is given only when all metrics are asked for.
    pub extended: bool,
    /// Where its formula is from.
    pub source: Option<Source>,
    /// What it is, in words.
    pub meaning: &'static str,
}

/// A metric; the order is that of the results.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is explained in METRICS")]
pub enum Metric {
    PathLength,
    HorizontalLength,
    TapedLength,
    NetDisplacement,
    NetDisplacementHorizontal,
    NetBearing,
    MaxDistance,
    Ascent,
    Descent,
    AscentRaw,
    DescentRaw,
    AscentThreshold,
    DescentThreshold,
    VerticalDistance,
    VerticalShare,
    HeightMax,
    HeightMean,
    HeightMedian,
    HeightQ25,
    HeightQ75,
    ElevationRange,
    AboveGroundShare,
    Bouts,
    ClimbsPer100m,
    Trees,
    TreesPer100m,
    Crossings,
    Straightness,
    LengthToNet,
    IntensityOfUse,
    Sinuosity,
    DailyHomeRange,
    Legs,
    StepMean,
    StepMedian,
    StepSd,
    TurnMean,
    TurnResultant,
    TurnRayleighP,
    TrackedHours,
    Nights,
    RatePerHour,
    RatePerNight,
    NetPerNight,
    NightsActiveShare,
    ThreadRatio,
    SinuosityStepped,
    TurnResultantStepped,
    StraightnessStepped,
    FractalDimension,
    MsdSlope,
    CrwDeviation,
    Turn3dMean,
    Turn3dResultant,
    SinuosityGeneral,
    RadiusOfGyration,
    LargestSpan,
    HullVolume,
    AreaToLength,
}

impl Metric {
    /// Its place in a row of values.
    pub const fn at(self) -> usize {
        self as usize
    }

    /// Its entry.
    pub fn entry(self) -> &'static Entry {
        &METRICS[self.at()]
    }
}

/// How many metrics there are.
pub(super) const COUNT: usize = 59;

/// Every metric, in the order of the results.
#[rustfmt::skip]
pub const METRICS: [Entry; COUNT] = [
    Entry { metric: Metric::PathLength, name: "path_length", symbol: "L", unit: "m", rule: Rule::Linear, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "length of the path in space" },
    Entry { metric: Metric::HorizontalLength, name: "horizontal_length", symbol: "Lxy", unit: "m", rule: Rule::Horizontal, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "length of the path in plan" },
    Entry { metric: Metric::TapedLength, name: "taped_length", symbol: "Lt", unit: "m", rule: Rule::Tape, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "sum of the tape readings" },
    Entry { metric: Metric::NetDisplacement, name: "net_displacement", symbol: "D", unit: "m", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Whole, extended: false, source: None, meaning: "distance from start to end in space" },
    Entry { metric: Metric::NetDisplacementHorizontal, name: "net_displacement_horizontal", symbol: "Dxy", unit: "m", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Whole, extended: false, source: None, meaning: "distance from start to end in plan" },
    Entry { metric: Metric::NetBearing, name: "net_bearing", symbol: "phi", unit: "degree", rule: Rule::Angle, bound: Bound::Open, needs: Needs::Direction, extended: false, source: None, meaning: "true bearing from start to end" },
    Entry { metric: Metric::MaxDistance, name: "max_distance", symbol: "Dmax", unit: "m", rule: Rule::Linear, bound: Bound::Total, needs: Needs::Whole, extended: false, source: None, meaning: "greatest distance from the start in space" },
    Entry { metric: Metric::Ascent, name: "ascent", symbol: "A", unit: "m", rule: Rule::Climb, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: Some(Source::Johnson1994), meaning: "ascent corrected for measurement noise" },
    Entry { metric: Metric::Descent, name: "descent", symbol: "De", unit: "m", rule: Rule::Climb, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: Some(Source::Johnson1994), meaning: "descent corrected for measurement noise" },
    Entry { metric: Metric::AscentRaw, name: "ascent_raw", symbol: "", unit: "m", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "climb as the adjusted heights give it, noise included" },
    Entry { metric: Metric::DescentRaw, name: "descent_raw", symbol: "", unit: "m", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "descent as the adjusted heights give it, noise included" },
    Entry { metric: Metric::AscentThreshold, name: "ascent_threshold", symbol: "", unit: "m", rule: Rule::Threshold, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "climb between reversals larger than 2 sd of a rise" },
    Entry { metric: Metric::DescentThreshold, name: "descent_threshold", symbol: "", unit: "m", rule: Rule::Threshold, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "descent between reversals larger than 2 sd of a rise" },
    Entry { metric: Metric::VerticalDistance, name: "vertical_distance", symbol: "V", unit: "m", rule: Rule::ClimbBoth, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "ascent and descent together" },
    Entry { metric: Metric::VerticalShare, name: "vertical_share", symbol: "V/L", unit: "1", rule: Rule::ClimbShare, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "vertical distance over path length" },
    Entry { metric: Metric::HeightMax, name: "height_max", symbol: "hmax", unit: "m", rule: Rule::Highest, bound: Bound::Greatest, needs: Needs::Nothing, extended: false, source: None, meaning: "greatest height above ground" },
    Entry { metric: Metric::HeightMean, name: "height_mean", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Reach, needs: Needs::Nothing, extended: false, source: None, meaning: "mean height, weighted by length" },
    Entry { metric: Metric::HeightMedian, name: "height_median", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Reach, needs: Needs::Nothing, extended: false, source: None, meaning: "height below which half the length lies" },
    Entry { metric: Metric::HeightQ25, name: "height_q25", symbol: "", unit: "m", rule: Rule::Bent, bound: Bound::Reach, needs: Needs::Nothing, extended: false, source: None, meaning: "height below which a quarter of the length lies" },
    Entry { metric: Metric::HeightQ75, name: "height_q75", symbol: "", unit: "m", rule: Rule::Bent, bound: Bound::Reach, needs: Needs::Nothing, extended: false, source: None, meaning: "height below which three quarters of the length lie" },
    Entry { metric: Metric::ElevationRange, name: "elevation_range", symbol: "", unit: "m", rule: Rule::Highest, bound: Bound::Greatest, needs: Needs::Nothing, extended: false, source: None, meaning: "highest less lowest elevation" },
    Entry { metric: Metric::AboveGroundShare, name: "above_ground_share", symbol: "", unit: "1", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "share of the length above the lowest edge" },
    Entry { metric: Metric::Bouts, name: "bouts", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "stretches above the ground" },
    Entry { metric: Metric::ClimbsPer100m, name: "climbs_per_100m", symbol: "", unit: "1/100 m", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "stretches above the ground for each 100 m of path" },
    Entry { metric: Metric::Trees, name: "trees", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "different trees used above the ground" },
    Entry { metric: Metric::TreesPer100m, name: "trees_per_100m", symbol: "", unit: "1/100 m", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "different trees for each 100 m of path" },
    Entry { metric: Metric::Crossings, name: "crossings", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "crossings from tree to tree or plant to plant without touching the ground" },
    Entry { metric: Metric::Straightness, name: "straightness", symbol: "D/L", unit: "1", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Whole, extended: false, source: Some(Source::Batschelet1981), meaning: "net displacement over path length, in space" },
    Entry { metric: Metric::LengthToNet, name: "length_to_net", symbol: "L/D", unit: "1", rule: Rule::Inverse, bound: Bound::Open, needs: Needs::Whole, extended: false, source: None, meaning: "path length over net displacement" },
    Entry { metric: Metric::IntensityOfUse, name: "intensity_of_use", symbol: "IU", unit: "1", rule: Rule::Mirror, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Loretto2005), meaning: "horizontal length over the root of the home range area" },
    Entry { metric: Metric::Sinuosity, name: "sinuosity", symbol: "S", unit: "1/√m", rule: Rule::Mirror, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Benhamou2004), meaning: "sinuosity of turns and horizontal steps" },
    Entry { metric: Metric::DailyHomeRange, name: "daily_home_range", symbol: "DHR", unit: "m²", rule: Rule::Linear, bound: Bound::Total, needs: Needs::Plan, extended: false, source: Some(Source::Prevedello2010), meaning: "area of the convex hull in plan" },
    Entry { metric: Metric::Legs, name: "legs", symbol: "n", unit: "1", rule: Rule::None, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "legs that count" },
    Entry { metric: Metric::StepMean, name: "step_mean", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "mean leg in space" },
    Entry { metric: Metric::StepMedian, name: "step_median", symbol: "", unit: "m", rule: Rule::Quantiles, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "median leg in space" },
    Entry { metric: Metric::StepSd, name: "step_sd", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "standard deviation of the legs in space" },
    Entry { metric: Metric::TurnMean, name: "turn_mean", symbol: "", unit: "degree", rule: Rule::Angle, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Fisher1993), meaning: "mean direction of the turns in plan, right positive" },
    Entry { metric: Metric::TurnResultant, name: "turn_resultant", symbol: "r", unit: "1", rule: Rule::Between, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Fisher1993), meaning: "mean resultant length of the turns in plan" },
    Entry { metric: Metric::TurnRayleighP, name: "turn_rayleigh_p", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Zar2010), meaning: "chance of turns so alike without preference" },
    Entry { metric: Metric::TrackedHours, name: "tracked_h", symbol: "", unit: "h", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "hours from release to the end" },
    Entry { metric: Metric::Nights, name: "nights", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "nights that the thread covers" },
    Entry { metric: Metric::RatePerHour, name: "rate_m_per_h", symbol: "", unit: "m/h", rule: Rule::PerHour, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "path length for each hour" },
    Entry { metric: Metric::RatePerNight, name: "rate_m_per_night", symbol: "", unit: "m", rule: Rule::PerNight, bound: Bound::Total, needs: Needs::Nothing, extended: false, source: None, meaning: "path length for each night" },
    Entry { metric: Metric::NetPerNight, name: "net_per_night", symbol: "", unit: "m", rule: Rule::NetPerNight, bound: Bound::Open, needs: Needs::Whole, extended: false, source: None, meaning: "net displacement for each night" },
    Entry { metric: Metric::NightsActiveShare, name: "nights_active_share", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "share of the nights with any movement" },
    Entry { metric: Metric::ThreadRatio, name: "thread_ratio", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Nothing, extended: false, source: None, meaning: "thread let out over the taped length" },
    Entry { metric: Metric::SinuosityStepped, name: "sinuosity_equal_steps", symbol: "", unit: "1/√m", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Benhamou2004), meaning: "sinuosity of equal steps in plan" },
    Entry { metric: Metric::TurnResultantStepped, name: "turn_resultant_equal_steps", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: false, source: Some(Source::Fisher1993), meaning: "mean resultant length of their turns" },
    Entry { metric: Metric::StraightnessStepped, name: "straightness_equal_steps", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Whole, extended: false, source: Some(Source::Batschelet1981), meaning: "their straightness in plan" },
    Entry { metric: Metric::FractalDimension, name: "fractal_dimension", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: true, source: Some(Source::Mandelbrot1967), meaning: "divider dimension in plan" },
    Entry { metric: Metric::MsdSlope, name: "msd_slope", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: true, source: None, meaning: "slope of log mean squared displacement against log lag" },
    Entry { metric: Metric::CrwDeviation, name: "crw_deviation", symbol: "", unit: "1", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: true, source: Some(Source::Kareiva1983), meaning: "squared net displacement over that of a correlated random walk" },
    Entry { metric: Metric::Turn3dMean, name: "turn_3d_mean", symbol: "", unit: "degree", rule: Rule::None, bound: Bound::Open, needs: Needs::Whole, extended: true, source: None, meaning: "mean angle between successive legs in space" },
    Entry { metric: Metric::Turn3dResultant, name: "turn_3d_resultant", symbol: "", unit: "1", rule: Rule::Between, bound: Bound::Open, needs: Needs::Plan, extended: true, source: None, meaning: "mean cosine of the angles between successive legs in space" },
    Entry { metric: Metric::SinuosityGeneral, name: "sinuosity_general", symbol: "", unit: "1/√m", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: true, source: Some(Source::Benhamou2004), meaning: "sinuosity where turns prefer one side" },
    Entry { metric: Metric::RadiusOfGyration, name: "radius_of_gyration", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Open, needs: Needs::Whole, extended: true, source: None, meaning: "root mean squared distance from the centre, weighted by length" },
    Entry { metric: Metric::LargestSpan, name: "largest_span", symbol: "", unit: "m", rule: Rule::Linear, bound: Bound::Total, needs: Needs::Whole, extended: true, source: None, meaning: "greatest distance between two points in space" },
    Entry { metric: Metric::HullVolume, name: "hull_volume", symbol: "", unit: "m³", rule: Rule::None, bound: Bound::Total, needs: Needs::Plan, extended: true, source: None, meaning: "volume of the convex hull" },
    Entry { metric: Metric::AreaToLength, name: "area_to_length", symbol: "", unit: "m", rule: Rule::None, bound: Bound::Open, needs: Needs::Plan, extended: true, source: None, meaning: "home range area over horizontal length" },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_stands_at_its_own_place() {
        for (at, entry) in METRICS.iter().enumerate() {
            assert_eq!(entry.metric.at(), at, "{}", entry.name);
        }
    }
}
