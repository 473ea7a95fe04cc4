//! The printed references behind formulas, limits and tables, by key.
//!
//! In: nothing. Out: a [`Source`] to link to from the formula that uses it, and its citation.
//! A formula without a variant here is common practice and says so in its own comment.

/// A printed reference. Docs link to the variant; results cite [`Source::citation`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// The geomagnetic reference field used for declination.
    Igrf14,
    /// How such a field is evaluated on the ellipsoid.
    Alken2021,
    /// Topocentric coordinates and the ellipsoid.
    Epsg2019,
    /// The transverse Mercator series and its convergence.
    Karney2011,
    /// Redundancy numbers and the smallest detectable slip.
    Baarda1968,
    /// Elements of the inverse on the pattern of the factor.
    Takahashi1973,
    /// Fill-reducing order of a sparse factor.
    Amestoy1996,
    /// Sinuosity and the straightness index of a path.
    Benhamou2004,
    /// Straightness of a path as net over gross displacement.
    Batschelet1981,
    /// The correlated random walk's expected net squared displacement.
    Kareiva1983,
    /// Intensity of use and daily home range from thread trails.
    Prevedello2010,
    /// Intensity of habitat use from thread trails.
    Loretto2005,
    /// The Rayleigh test in the Greenwood-Durand form.
    Zar2010,
    /// Rectified normal: what noise adds to a climb.
    Johnson1994,
    /// Directions that gather about an axis.
    Watson1965,
    /// Many like quantities measured at once inform each other.
    Efron1975,
    /// Intervals of the greatest of many uncertain numbers.
    Chernozhukov2013,
    /// Intervals of a number that is known to lie between two estimated bounds.
    Imbens2004,
    /// Divider dimension of a path.
    Mandelbrot1967,
    /// Climbing lizards slowed by a load of 10 % of their mass.
    Knapp2009,
    /// A percentage of body mass alone is a poor rule.
    Casper2009,
    /// Guidelines for the use of wild mammals in research.
    Sikes2016,
    /// Released animals climb, and come down within ten metres.
    Prevedello2009,
    /// Convex hull by the monotone chain.
    Andrew1979,
    /// Points inside the extreme ones are no part of a convex hull.
    Akl1978,
    /// Quantiles of a sample by linear interpolation.
    Hyndman1996,
    /// Local rates of turning: the mean vector.
    Fisher1993,
    /// The compass rule.
    Bowditch1808,
    /// The robust estimator with a bounded influence.
    Huber1964,
    /// Tuning constants of robust estimators.
    Holland1977,
}

impl Source {
    /// The reference as it would stand in a list of references.
    #[expect(clippy::too_many_lines, reason = "one list of references")]
    pub const fn citation(self) -> &'static str {
        match self {
            Self::Igrf14 => {
                "IAGA V-MOD 2024, International Geomagnetic Reference Field, 14th generation, \
                 doi:10.5281/zenodo.14012302"
            }
            Self::Alken2021 => {
                "Alken et al. 2021, International Geomagnetic Reference Field: the thirteenth \
                 generation, Earth Planets Space 73:49"
            }
            Self::Epsg2019 => "IOGP 2019, Geomatics Guidance Note 7, part 2",
            Self::Karney2011 => {
                "Karney 2011, Transverse Mercator with an accuracy of a few nanometers, \
                 J. Geodesy 85:475-485"
            }
            Self::Baarda1968 => {
                "Baarda 1968, A testing procedure for use in geodetic networks, Netherlands \
                 Geodetic Commission, Publ. Geod. 2(5)"
            }
            Self::Takahashi1973 => {
                "Takahashi, Fagan & Chin 1973, Formation of a sparse bus impedance matrix, \
                 Proc. 8th PICA Conference"
            }
            Self::Amestoy1996 => {
                "Amestoy, Davis & Duff 1996, An approximate minimum degree ordering algorithm, \
                 SIAM J. Matrix Anal. Appl. 17:886-905"
            }
            Self::Benhamou2004 => {
                "Benhamou 2004, How to reliably estimate the tortuosity of an animal's path, \
                 J. Theor. Biol. 229:209-220"
            }
            Self::Batschelet1981 => {
                "Batschelet 1981, Circular Statistics in Biology, Academic Press"
            }
            Self::Kareiva1983 => {
                "Kareiva & Shigesada 1983, Analyzing insect movement as a correlated random walk, \
                 Oecologia 56:234-238"
            }
            Self::Prevedello2010 => "Prevedello et al. 2010, Mamm. Biol. 75",
            Self::Loretto2005 => {
                "Loretto & Vieira 2005, Effects of reproductive and climatic seasons on movements \
                 in the black-eared opossum, J. Mammal. 86:287-293 (from memory)"
            }
            Self::Zar2010 => "Zar 2010, Biostatistical Analysis, 5th ed., chapter 27",
            Self::Johnson1994 => {
                "Johnson, Kotz & Balakrishnan 1994, Continuous Univariate Distributions, vol. 1, \
                 2nd ed., Wiley"
            }
            Self::Watson1965 => {
                "Watson 1965, Equatorial distributions on a sphere, Biometrika 52:193-201"
            }
            Self::Efron1975 => {
                "Efron & Morris 1975, Data analysis using Stein's estimator and its \
                 generalizations, J. Am. Stat. Assoc. 70:311-319"
            }
            Self::Chernozhukov2013 => {
                "Chernozhukov, Lee & Rosen 2013, Intersection bounds: estimation and inference, \
                 Econometrica 81:667-737"
            }
            Self::Imbens2004 => {
                "Imbens & Manski 2004, Confidence intervals for partially identified parameters, \
                 Econometrica 72:1845-1857"
            }
            Self::Mandelbrot1967 => {
                "Mandelbrot 1967, How long is the coast of Britain?, Science 156:636-638"
            }
            Self::Knapp2009 => "Knapp & Abarca 2009, Herpetologica 65",
            Self::Casper2009 => "Casper 2009, Anim. Behav. 78",
            Self::Sikes2016 => "Sikes et al. 2016, J. Mammal. 97",
            Self::Prevedello2009 => "Prevedello et al. 2009, Acta Theriol. 54",
            Self::Andrew1979 => {
                "Andrew 1979, Another efficient algorithm for convex hulls in two dimensions, \
                 Inf. Process. Lett. 9:216-219"
            }
            Self::Akl1978 => {
                "Akl & Toussaint 1978, A fast convex hull algorithm, Inf. Process. Lett. 7:219-222"
            }
            Self::Hyndman1996 => {
                "Hyndman & Fan 1996, Sample quantiles in statistical packages, \
                 Am. Stat. 50:361-365 (type 7)"
            }
            Self::Fisher1993 => {
                "Fisher 1993, Statistical Analysis of Circular Data, Cambridge University Press"
            }
            Self::Bowditch1808 => "Bowditch 1808, The Analyst (Philadelphia) 1, 88-93",
            Self::Huber1964 => "Huber 1964, Annals of Mathematical Statistics 35, 73-101",
            Self::Holland1977 => "Holland & Welsch 1977, Communications in Statistics A 6, 813-827",
        }
    }
}
