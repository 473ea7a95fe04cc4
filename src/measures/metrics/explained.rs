//! What a reader must know of each metric beside its entry: its formula, and where it misleads.
//! The tables' descriptions and the book say the same words.

use super::catalogue::{Bound, Metric, Needs, Rule};

/// A metric's formula, and what to beware of.
#[derive(Clone, Copy, Debug)]
pub struct Explained {
    /// The formula, in the symbols of [`SYMBOLS`].
    pub formula: &'static str,
    /// Where it misleads.
    pub pitfall: &'static str,
}

/// The symbols of the formulas, with what each stands for.
pub const SYMBOLS: [(&str, &str); 9] = [
    ("l", "length of a leg that counts: one that is not a gap"),
    ("r", "its horizontal length"),
    ("u", "its rise, negative where it falls"),
    ("n", "how many legs, or turns, there are"),
    ("s", "metres along the path"),
    ("h", "height above ground; z, elevation: ground and height together"),
    ("θ", "turn from one leg to the next"),
    ("A", "area of the convex hull in plan"),
    ("L, D", "path length and net displacement, in space; with xy, in plan"),
];

const fn of(formula: &'static str, pitfall: &'static str) -> Explained {
    Explained { formula, pitfall }
}

impl Metric {
    /// Its formula, and what to beware of.
    #[rustfmt::skip]
    #[expect(clippy::too_many_lines, reason = "one line a metric")]
    pub const fn explained(self) -> Explained {
        match self {
            Self::PathLength => of("L = Σ l", "a taut thread cuts corners: a lower bound of the way walked"),
            Self::HorizontalLength => of("Lxy = Σ r", "of a steep leg tape and heights tell little: a clinometer helps"),
            Self::TapedLength => of("sum of the tapes of the legs that count", "not adjusted; a slip of the tape goes in whole"),
            Self::NetDisplacement => of("D = |end − start|", "where the thread broke or ran out the end is the thread's, not the animal's"),
            Self::NetDisplacementHorizontal => of("Dxy = √(Δeast² + Δnorth²)", "errors of the compass add up along the trail: tie its end to a known point"),
            Self::NetBearing => of("φ = atan2(Δeast, Δnorth)", "blank of a path that ends where it began; means little where the net displacement is hardly longer than its standard error"),
            Self::MaxDistance => of("greatest |x − start| over the anchors", "the refuge need not be the farthest point; grows with the nights followed"),
            Self::Ascent => of("Σ max(u, 0), less what noise adds to legs that were measured", "the interval reaches down to a level path where the heights allow one"),
            Self::Descent => of("Σ max(−u, 0), less what noise adds to legs that were measured", "as ascent; from a release high up it is the larger of the two"),
            Self::AscentRaw => of("Σ max(u, 0)", "noise climbs: a level leg gains 0.564 standard deviations of one height; for comparison only"),
            Self::DescentRaw => of("Σ max(−u, 0)", "noise climbs, as in ascent_raw; for comparison only"),
            Self::AscentThreshold => of("Σ climbs from a low to the next high, a reversal counting from 2 standard deviations of a rise", "leaves out true climbs below the threshold, and so depends on the instruments"),
            Self::DescentThreshold => of("Σ falls from a high to the next low, a reversal counting from 2 standard deviations of a rise", "leaves out true falls below the threshold, and so depends on the instruments"),
            Self::VerticalDistance => of("V = ascent + descent", "climbing up and down one trunk counts twice"),
            Self::VerticalShare => of("V / L", "not a share of time: what an animal does while it sits leaves no thread"),
            Self::HeightMax => of("greatest h over the anchors, less what noise adds", "often reached in the escape run: compare with after_escape; at least, where a height was out of reach"),
            Self::HeightMean => of("∫ h ds / L", "weighted by metres of thread, not by time"),
            Self::HeightMedian => of("h below which half of L lies", "legs are cut at that height, never counted by their midpoints; jumps where much of the path is level"),
            Self::HeightQ25 => of("h below which a quarter of L lies", "near the median it may owe its distance to noise alone"),
            Self::HeightQ75 => of("h below which three quarters of L lie", "near the median it may owe its distance to noise alone"),
            Self::ElevationRange => of("greatest z − least z over the anchors, less what noise adds", "on sloping ground it holds the slope as well as the climbing"),
            Self::AboveGroundShare => of("metres of L with h above bouts.above_m, else above the lowest edge of the height bands, over L", "hangs on that height: state it"),
            Self::Bouts => of("stretches with h above that height", "heights that waver about it make many bouts of one"),
            Self::ClimbsPer100m => of("bouts / (L / 100 m)", "on a short trail one bout more or less is much"),
            Self::Trees => of("different names under tree, at anchors above that height", "a tree without a name is not counted"),
            Self::TreesPer100m => of("trees / (L / 100 m)", "falls with length where the animal keeps coming back to one tree"),
            Self::Crossings => of("legs that count from one tree to another, or from one plant to another where a tree is not named at both ends, both ends above that height; also legs whose leg_support says crossing", "a crossing with an anchor between the trees that names neither is missed"),
            Self::Straightness => of("D / L", "falls with the length of the trail and with finer marking: compare like with like"),
            Self::LengthToNet => of("L / D", "has no upper limit: a mean over animals is led by the few that came back"),
            Self::IntensityOfUse => of("Lxy / √A", "grows without limit on a straight path, whose area is nearly none"),
            Self::Sinuosity => of("S = 2 / √( p ((1 + c) / (1 − c) + b²) ); p mean of r, b their coefficient of variation, c mean of cos θ", "hangs on step length and marking rule; plumb legs are left out"),
            Self::DailyHomeRange => of("A: convex hull of the anchors in plan", "grows with anchors and nights, and takes in ground the animal never touched"),
            Self::Legs => of("n", "says how finely was marked, not how far the animal went"),
            Self::StepMean => of("Σ l / n", "follows from the marking rule as much as from the animal"),
            Self::StepMedian => of("middle of the l in order of length", "follows from the marking rule as much as from the animal"),
            Self::StepSd => of("√( Σ (l − mean)² / (n − 1) )", "legs have a long right tail: give quartiles as well"),
            Self::TurnMean => of("atan2(Σ sin θ, Σ cos θ), in plan", "means nothing where the resultant is near 0"),
            Self::TurnResultant => of("r = √( (Σ cos θ)² + (Σ sin θ)² ) / n", "noise of short legs turns them about and lowers it"),
            Self::TurnRayleighP => of("exp( √(1 + 4n + 4(n² − R²)) − (1 + 2n) ), R = n r", "turns of one path are not independent: no test of the animal's habits"),
            Self::TrackedHours => of("end_time − start_time", "ends when the animal was found, not when it came to rest"),
            Self::Nights => of("nights, else the sections from one place it was seen to the next", "a night without movement counts"),
            Self::RatePerHour => of("L / tracked_h", "hours at rest count; none where the thread ended before the animal was found"),
            Self::RatePerNight => of("L / nights", "nights at rest count; none where the thread ended before the animal was found"),
            Self::NetPerNight => of("D / nights", "an animal that comes home each night has next to none"),
            Self::NightsActiveShare => of("nights with any taped length / nights", "with few nights it takes few values"),
            Self::ThreadRatio => of("thread let out / taped length of the whole trail", "well above 1: slack, tangle or a tape missed; below 1: a wrong weight or a leg taped twice"),
            Self::SinuosityStepped => of("S of equal steps along the path in plan, begun at every place of it", "compare studies at one step only; the step stands in the reason"),
            Self::TurnResultantStepped => of("r of equal steps along the path in plan, begun at every place of it", "compare studies at one step only; the step stands in the reason"),
            Self::StraightnessStepped => of("net displacement in plan / (length in plan × mean chord / step)", "compare studies at one step only"),
            Self::FractalDimension => of("1 − slope of log length against log step, steps from the median leg to half the largest span in plan; what is left over counts as part of a step", "few paths are alike at all scales; blank where the fit lies outside 1 to 2, as a handful of legs may put it"),
            Self::MsdSlope => of("slope of log mean squared displacement in plan against log lag, lags to a quarter of the anchors", "lags are anchors, not hours; needs twelve anchors"),
            Self::CrwDeviation => of("Dxy² / E; E = n m₂ + 2 m₁² Re Σ (n − k) zᵏ, k = 1 … n − 1; m₁, m₂ means of r and r², z = mean cos θ + i mean sin θ", "one path is one draw: even a true random walk strays far from 1"),
            Self::Turn3dMean => of("mean of arccos( d·d′ / |d||d′| ), d and d′ legs that follow each other", "noise opens every angle: never 0 on a straight path"),
            Self::Turn3dResultant => of("mean of d·d′ / |d||d′|", "noise of short legs lowers it"),
            Self::SinuosityGeneral => of("S = 2 / √( p ((1 − c² − s²) / ((1 − c)² + s²) + b²) ); s mean of sin θ", "as sinuosity; differs from it only where turns prefer one side"),
            Self::RadiusOfGyration => of("√( ∫ |x − centre|² ds / L )", "weighted by metres of thread, not by time"),
            Self::LargestSpan => of("greatest |x − x′| over all pairs of anchors", "rests on two anchors: one slip sets it"),
            Self::HullVolume => of("volume of the convex hull of the anchors in space", "none where they lie in one plane; takes in air the animal never touched"),
            Self::AreaToLength => of("A / Lxy", "not free of the length: it grows with it"),
        }
    }
}

impl Rule {
    /// How the 95 % interval is found, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Linear => "estimate ± 1.96 standard deviations of the draws",
            Self::Angle => {
                "estimate ± 1.96 standard deviations of the draws around it; none where they point all ways"
            }
            Self::Tape => "estimate ± 1.96 standard deviations of the tapes",
            Self::Horizontal => {
                "around the estimate corrected for measurement noise; ± 1.96 standard deviations of the draws"
            }
            Self::Climb => {
                "upward 1.96 standard deviations; downward as far as if all legs were level that may be"
            }
            Self::ClimbBoth => "as that of ascent, both ways together",
            Self::ClimbShare => "that of vertical_distance over the path length",
            Self::Threshold => {
                "upward 1.96 standard deviations; downward also by what noise may have added"
            }
            Self::Highest => {
                "upward 1.96 standard deviations; downward as far as if all anchors tied that may"
            }
            Self::Mirror => {
                "around twice the estimate less the mean of the draws, ± 1.96 standard deviations"
            }
            Self::Bent => {
                "around twice the estimate less the mean of the draws, ± 1.96 standard deviations, longer at both ends by what cannot be taken off"
            }
            Self::Between => {
                "holds the estimate and twice it less the mean of the draws, each ± 1.96 standard deviations"
            }
            Self::Quantiles => "2.5 and 97.5 % quantiles of the draws",
            Self::Inverse => "that of straightness, upside down; none where that reaches 0",
            Self::PerHour => "that of path_length over the hours",
            Self::PerNight => "that of path_length over the nights",
            Self::NetPerNight => "that of net_displacement over the nights",
        }
    }
}

impl Bound {
    /// When a value is marked *at least*, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Open => "never",
            Self::Total => "where the thread was cut short or the path has a gap",
            Self::Greatest => {
                "where the thread was cut short, the path has a gap or a height was out of reach"
            }
            Self::Reach => "where a height was out of reach",
        }
    }
}

impl Needs {
    /// What there must be for a value, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "tape and heights",
            Self::Plan => "bearings or turning angles",
            Self::Whole => "bearings or turning angles, and a path in one piece",
            Self::Direction => {
                "a plan with a north, by one bearing or two positions, and a path in one piece"
            }
        }
    }
}
