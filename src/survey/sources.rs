//! The printed references behind formulas, limits and tables, by key.
//!
//! In: nothing. Out: a [`Source`] to link to from the formula that uses it, and its citation, for a
//! reader and for a reference manager. A formula without a variant here is common practice and
//! says so in its own comment. Each was looked up in public records, but those that say that they are
//! given from memory: these stay out of `references.bib`. A DOI stands where a record showed it.

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
    /// The rotation that brings one set of points nearest to another.
    Schonemann1966,
    /// Redundancy numbers and the smallest detectable slip.
    Baarda1968,
    /// Precisions estimated from residuals and redundancy numbers. Later work names its simplified
    /// formula; a record of its pages was not found.
    Forstner1979,
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
    /// Paths and areas from thread trails. Its abstract speaks of habitat selection; the body was not seen.
    Prevedello2010,
    /// Intensity of habitat use from thread trails.
    Loretto2005,
    /// The Rayleigh test in the Greenwood-Durand form, and the V-test.
    Zar2010,
    /// Rectified normal: what noise adds to a climb.
    Johnson1994,
    /// Directions that gather about an axis.
    Watson1965,
    /// Many like quantities measured at once inform each other.
    Efron1975,
    /// Intervals of the greatest of many uncertain numbers.
    Chernozhukov2013,
    /// A t that skewness does not bend.
    Hall1992,
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
    /// Vertical use of space by thread trails. Its abstract tells nothing of an escape run; the body was not seen.
    Prevedello2009,
    /// Convex hull by the monotone chain.
    Andrew1979,
    /// Quantiles of a sample by linear interpolation (type 7).
    Hyndman1996,
    /// Local rates of turning: the mean vector.
    Fisher1993,
    /// Tests by shuffling labels.
    Fisher1935,
    /// Means of subsets as ends of intervals.
    Hartigan1969,
    /// Shuffled labels where one group is more spread out.
    Janssen1997,
    /// Statistics brought to one scale before labels are shuffled.
    Chung2016,
    /// Degrees of freedom where two groups are spread out unequally.
    Welch1947,
    /// Student's t on the scale of the normal.
    Wallace1959,
    /// Two groups by ranks.
    MannWhitney1947,
    /// The shift between two groups by the median of all differences.
    Hodges1963,
    /// The interval of that shift.
    Hollander1973,
    /// Several groups by ranks.
    Kruskal1952,
    /// Correlation of ranks.
    Spearman1904,
    /// What several tests of one question do to p.
    Holm1979,
    /// Several tests of one question adjusted by shared arrangements.
    Westfall1993,
    /// Conditional logistic regression of matched sets.
    Breslow1980,
    /// Errors that are robust to what units of one cluster have in common, of few clusters.
    Bell2002,
    /// The interval of a mean direction by likelihood.
    Upton1986,
    /// Mean directions of several samples compared by what their resultants fall short of.
    Watson1956,
    /// Two samples of directions compared by their distributions.
    Watson1962,
    /// Bootstrap intervals corrected for bias and skew.
    Efron1987,
    /// Selection ratios of used and available.
    Manly2002,
    /// Simultaneous intervals of used shares.
    Neu1974,
    /// The index D of used and available shares.
    Jacobs1974,
    /// The animal as the unit of habitat use.
    Aebischer1993,
    /// Selection tested by changing signs over animals.
    Fattorini2014,
    /// The compass rule.
    Bowditch1808,
    /// The robust estimator with a bounded influence.
    Huber1964,
    /// Tuning constants of robust estimators.
    Holland1977,
    /// Variances between and within, of unequal numbers.
    Searle1992,
    /// Limits of sums of mean squares.
    Burdick1992,
    /// Planning by the upper limit of a pilot's spread.
    Browne1995,
    /// Power of tests of means.
    Cohen1988,
    /// Restricted maximum likelihood of variances.
    Patterson1971,
    /// The average information of variances.
    Gilmour1995,
    /// Standard errors set by how far means do lie apart.
    Knapp2003,
    /// What estimated weights add to a standard error.
    Kenward1997,
    /// Degrees of freedom of a sum of variances.
    Satterthwaite1946,
    /// Repeatability as a share of variance.
    Nakagawa2010,
    /// Slopes within and between animals told apart.
    VanDePol2009,
    /// The product-limit curve, and the mean under it.
    KaplanMeier1958,
    /// The standard error of such a curve.
    Greenwood1926,
    /// The mean up to a bound.
    Irwin1949,
    /// The log-rank test.
    Mantel1966,
    /// Its labels shuffled where threads run out unlike.
    Neuhaus1993,
    /// Tests and intervals of handfuls where threads run out unlike.
    Wang2010,
    /// Means up to a bound compared by shuffled labels.
    Ditzhaus2023,
}

/// Where a reference was printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Printed {
    /// In a journal: its name, volume and pages.
    Article(&'static str, &'static str, &'static str),
    /// As a book, by a publisher.
    Book(&'static str),
    /// Elsewhere.
    Other(&'static str),
}

/// One reference.
struct Reference {
    key: &'static str,
    authors: &'static str,
    year: u16,
    title: &'static str,
    printed: Printed,
    /// Blank where no record showed one.
    doi: &'static str,
    /// Whether a public record was found that says the same.
    looked_up: bool,
}

impl Reference {
    const fn doi(self, doi: &'static str) -> Self {
        Self { doi, ..self }
    }

    const fn remembered(self) -> Self {
        Self { looked_up: false, ..self }
    }
}

const fn reference(
    key: &'static str,
    authors: &'static str,
    year: u16,
    title: &'static str,
    printed: Printed,
) -> Reference {
    Reference { key, authors, year, title, printed, doi: "", looked_up: true }
}

impl Source {
    #[expect(clippy::too_many_lines, reason = "one list of references")]
    const fn reference(self) -> Reference {
        use Printed::{Article, Book, Other};
        match self {
            Self::Igrf14 => reference(
                "igrf14",
                "IAGA V-MOD",
                2024,
                "International Geomagnetic Reference Field, 14th generation",
                Other("doi:10.5281/zenodo.14012302"),
            ),
            Self::Alken2021 => reference(
                "alken2021",
                "Alken et al.",
                2021,
                "International Geomagnetic Reference Field: the thirteenth generation",
                Article("Earth Planets Space", "73", "49"),
            ).doi("10.1186/s40623-020-01288-x"),
            Self::Epsg2019 => {
                reference("epsg2019", "IOGP", 2019, "Geomatics Guidance Note number 7, part 2: Coordinate Conversions and Transformations including Formulas", Other(""))
            }
            Self::Karney2011 => reference(
                "karney2011",
                "Karney",
                2011,
                "Transverse Mercator with an accuracy of a few nanometers",
                Article("J. Geodesy", "85", "475-485"),
            ).doi("10.1007/s00190-011-0445-3"),
            Self::Schonemann1966 => reference(
                "schonemann1966",
                "Schönemann",
                1966,
                "A generalized solution of the orthogonal Procrustes problem",
                Article("Psychometrika", "31", "1-10"),
            ).doi("10.1007/BF02289451"),
            Self::Baarda1968 => reference(
                "baarda1968",
                "Baarda",
                1968,
                "A testing procedure for use in geodetic networks",
                Article("Netherlands Geodetic Commission, Publ. Geod.", "2(5)", ""),
            ),
            Self::Forstner1979 => reference(
                "forstner1979",
                "Förstner",
                1979,
                "Ein Verfahren zur Schätzung von Varianz- und Kovarianzkomponenten",
                Article("Allgemeine Vermessungs-Nachrichten", "86", "446-453"),
            ).remembered(),
            Self::Takahashi1973 => reference(
                "takahashi1973",
                "Takahashi, Fagan & Chin",
                1973,
                "Formation of a sparse bus impedance matrix and its application to short circuit study",
                Other("Proc. 8th PICA Conference"),
            ),
            Self::Amestoy1996 => reference(
                "amestoy1996",
                "Amestoy, Davis & Duff",
                1996,
                "An approximate minimum degree ordering algorithm",
                Article("SIAM J. Matrix Anal. Appl.", "17", "886-905"),
            ).doi("10.1137/S0895479894278952"),
            Self::Benhamou2004 => reference(
                "benhamou2004",
                "Benhamou",
                2004,
                "How to reliably estimate the tortuosity of an animal's path: straightness, sinuosity, or fractal dimension?",
                Article("J. Theor. Biol.", "229", "209-220"),
            ).doi("10.1016/j.jtbi.2004.03.016"),
            Self::Batschelet1981 => reference(
                "batschelet1981",
                "Batschelet",
                1981,
                "Circular Statistics in Biology",
                Book("Academic Press"),
            ),
            Self::Kareiva1983 => reference(
                "kareiva1983",
                "Kareiva & Shigesada",
                1983,
                "Analyzing insect movement as a correlated random walk",
                Article("Oecologia", "56", "234-238"),
            ).doi("10.1007/BF00379695"),
            Self::Prevedello2010 => reference(
                "prevedello2010",
                "Prevedello et al.",
                2010,
                "Habitat selection by two species of small mammals in the Atlantic Forest, Brazil: Comparing results from live trapping and spool-and-line tracking",
                Article("Mamm. Biol.", "75", "106-114"),
            ).doi("10.1016/j.mambio.2009.11.002"),
            Self::Loretto2005 => reference(
                "loretto2005",
                "Loretto & Vieira",
                2005,
                "Effects of reproductive and climatic seasons on movements in the black-eared opossum",
                Article("J. Mammal.", "86", "287-293"),
            ).remembered(),
            Self::Zar2010 => reference(
                "zar2010",
                "Zar",
                2010,
                "Biostatistical Analysis, 5th ed., chapter 27",
                Book("Pearson"),
            ),
            Self::Johnson1994 => reference(
                "johnson1994",
                "Johnson, Kotz & Balakrishnan",
                1994,
                "Continuous Univariate Distributions, vol. 1, 2nd ed.",
                Book("Wiley"),
            ),
            Self::Watson1965 => reference(
                "watson1965",
                "Watson",
                1965,
                "Equatorial distributions on a sphere",
                Article("Biometrika", "52", "193-201"),
            ),
            Self::Efron1975 => reference(
                "efron1975",
                "Efron & Morris",
                1975,
                "Data analysis using Stein's estimator and its generalizations",
                Article("J. Am. Stat. Assoc.", "70", "311-319"),
            ).doi("10.1080/01621459.1975.10479864"),
            Self::Chernozhukov2013 => reference(
                "chernozhukov2013",
                "Chernozhukov, Lee & Rosen",
                2013,
                "Intersection bounds: estimation and inference",
                Article("Econometrica", "81", "667-737"),
            ).doi("10.3982/ECTA8718"),
            Self::Hall1992 => reference(
                "hall1992",
                "Hall",
                1992,
                "On the removal of skewness by transformation",
                Article("J. R. Stat. Soc. B", "54", "221-228"),
            ).remembered(),
            Self::Imbens2004 => reference(
                "imbens2004",
                "Imbens & Manski",
                2004,
                "Confidence intervals for partially identified parameters",
                Article("Econometrica", "72", "1845-1857"),
            ).doi("10.1111/j.1468-0262.2004.00555.x"),
            Self::Mandelbrot1967 => reference(
                "mandelbrot1967",
                "Mandelbrot",
                1967,
                "How long is the coast of Britain? Statistical self-similarity and fractional dimension",
                Article("Science", "156", "636-638"),
            ).doi("10.1126/science.156.3775.636"),
            Self::Knapp2009 => reference(
                "knapp2009",
                "Knapp & Abarca",
                2009,
                "Effects of radio transmitter burdening on locomotor ability and survival of iguana hatchlings",
                Article("Herpetologica", "65", "363-372"),
            ).doi("10.1655/09-003.1"),
            Self::Casper2009 => reference(
                "casper2009",
                "Casper",
                2009,
                "Guidelines for the instrumentation of wild birds and mammals",
                Article("Anim. Behav.", "78", "1477-1483"),
            ),
            Self::Sikes2016 => reference(
                "sikes2016",
                "Sikes et al.",
                2016,
                "2016 Guidelines of the American Society of Mammalogists for the use of wild mammals in research and education",
                Article("J. Mammal.", "97", "663-688"),
            ).doi("10.1093/jmammal/gyw078"),
            Self::Prevedello2009 => reference(
                "prevedello2009",
                "Prevedello et al.",
                2009,
                "Vertical use of space by the marsupial Micoureus paraguayanus (Didelphimorphia, Didelphidae) in the Atlantic Forest of Brazil",
                Article("Acta Theriol.", "54", "259-266"),
            ).doi("10.4098/j.at.0001-7051.063.2008"),
            Self::Andrew1979 => reference(
                "andrew1979",
                "Andrew",
                1979,
                "Another efficient algorithm for convex hulls in two dimensions",
                Article("Inf. Process. Lett.", "9", "216-219"),
            ).doi("10.1016/0020-0190(79)90072-3"),
            Self::Hyndman1996 => reference(
                "hyndman1996",
                "Hyndman & Fan",
                1996,
                "Sample quantiles in statistical packages",
                Article("Am. Stat.", "50", "361-365"),
            ).doi("10.1080/00031305.1996.10473566"),
            Self::Fisher1993 => reference(
                "fisher1993",
                "Fisher",
                1993,
                "Statistical Analysis of Circular Data",
                Book("Cambridge University Press"),
            ),
            Self::Fisher1935 => reference(
                "fisher1935",
                "Fisher",
                1935,
                "The Design of Experiments",
                Book("Oliver & Boyd"),
            ),
            Self::Hartigan1969 => reference(
                "hartigan1969",
                "Hartigan",
                1969,
                "Using subsample values as typical values",
                Article("J. Am. Stat. Assoc.", "64", "1303-1317"),
            ),
            Self::Janssen1997 => reference(
                "janssen1997",
                "Janssen",
                1997,
                "Studentized permutation tests for non-i.i.d. hypotheses and the generalized \
                 Behrens-Fisher problem",
                Article("Stat. Probab. Lett.", "36", "9-21"),
            ).doi("10.1016/S0167-7152(97)00043-6"),
            Self::Chung2016 => reference(
                "chung2016",
                "Chung & Romano",
                2016,
                "Multivariate and multiple permutation tests",
                Article("J. Econom.", "193", "76-91"),
            ),
            Self::Welch1947 => reference(
                "welch1947",
                "Welch",
                1947,
                "The generalization of 'Student's' problem when several different population \
                 variances are involved",
                Article("Biometrika", "34", "28-35"),
            ).doi("10.1093/biomet/34.1-2.28"),
            Self::Wallace1959 => reference(
                "wallace1959",
                "Wallace",
                1959,
                "Bounds on normal approximations to Student's and the chi-square distributions",
                Article("Ann. Math. Stat.", "30", "1121-1130"),
            ),
            Self::MannWhitney1947 => reference(
                "mannwhitney1947",
                "Mann & Whitney",
                1947,
                "On a test of whether one of two random variables is stochastically larger than the other",
                Article("Ann. Math. Stat.", "18", "50-60"),
            ).doi("10.1214/aoms/1177730491"),
            Self::Hodges1963 => reference(
                "hodges1963",
                "Hodges & Lehmann",
                1963,
                "Estimates of location based on rank tests",
                Article("Ann. Math. Stat.", "34", "598-611"),
            ).doi("10.1214/aoms/1177704172"),
            Self::Hollander1973 => reference(
                "hollander1973",
                "Hollander & Wolfe",
                1973,
                "Nonparametric Statistical Methods",
                Book("Wiley"),
            ),
            Self::Kruskal1952 => reference(
                "kruskal1952",
                "Kruskal & Wallis",
                1952,
                "Use of ranks in one-criterion variance analysis",
                Article("J. Am. Stat. Assoc.", "47", "583-621"),
            ).doi("10.1080/01621459.1952.10483441"),
            Self::Spearman1904 => reference(
                "spearman1904",
                "Spearman",
                1904,
                "The proof and measurement of association between two things",
                Article("Am. J. Psychol.", "15", "72-101"),
            ).doi("10.2307/1412159"),
            Self::Holm1979 => reference(
                "holm1979",
                "Holm",
                1979,
                "A simple sequentially rejective multiple test procedure",
                Article("Scand. J. Stat.", "6", "65-70"),
            ).doi("10.2307/4615733"),
            Self::Westfall1993 => reference(
                "westfall1993",
                "Westfall & Young",
                1993,
                "Resampling-Based Multiple Testing: Examples and Methods for p-Value Adjustment",
                Book("Wiley"),
            )
            .remembered(),
            Self::Breslow1980 => reference(
                "breslow1980",
                "Breslow & Day",
                1980,
                "Statistical Methods in Cancer Research, vol. 1: The Analysis of Case-Control Studies",
                Book("IARC"),
            ),
            Self::Bell2002 => reference(
                "bell2002",
                "Bell & McCaffrey",
                2002,
                "Bias reduction in standard errors for linear regression with multi-stage samples",
                Article("Surv. Methodol.", "28", "169-181"),
            )
            .remembered(),
            Self::Upton1986 => reference(
                "upton1986",
                "Upton",
                1986,
                "Approximate confidence intervals for the mean direction of a von Mises distribution",
                Article("Biometrika", "73", "525-527"),
            )
            .remembered(),
            Self::Watson1956 => reference(
                "watson1956",
                "Watson & Williams",
                1956,
                "On the construction of significance tests on the circle and the sphere",
                Article("Biometrika", "43", "344-352"),
            )
            .remembered(),
            Self::Watson1962 => reference(
                "watson1962",
                "Watson",
                1962,
                "Goodness-of-fit tests on a circle. II",
                Article("Biometrika", "49", "57-63"),
            )
            .remembered(),
            Self::Efron1987 => reference(
                "efron1987",
                "Efron",
                1987,
                "Better bootstrap confidence intervals",
                Article("J. Am. Stat. Assoc.", "82", "171-185"),
            ).doi("10.1080/01621459.1987.10478410"),
            Self::Manly2002 => reference(
                "manly2002",
                "Manly et al.",
                2002,
                "Resource Selection by Animals, 2nd ed.",
                Book("Kluwer"),
            ).doi("10.1007/0-306-48151-0"),
            Self::Neu1974 => reference(
                "neu1974",
                "Neu, Byers & Peek",
                1974,
                "A technique for analysis of utilization-availability data",
                Article("J. Wildl. Manage.", "38", "541-545"),
            ),
            Self::Jacobs1974 => reference(
                "jacobs1974",
                "Jacobs",
                1974,
                "Quantitative measurement of food selection: A modification of the forage ratio and Ivlev's electivity index",
                Article("Oecologia", "14", "413-417"),
            ).doi("10.1007/BF00384581"),
            Self::Aebischer1993 => reference(
                "aebischer1993",
                "Aebischer, Robertson & Kenward",
                1993,
                "Compositional analysis of habitat use from animal radio-tracking data",
                Article("Ecology", "74", "1313-1325"),
            ),
            Self::Fattorini2014 => reference(
                "fattorini2014",
                "Fattorini et al.",
                2014,
                "A permutation-based combination of sign tests for assessing habitat selection",
                Article("Environ. Ecol. Stat.", "21", "161-187"),
            ).doi("10.1007/s10651-013-0250-7"),
            Self::Bowditch1808 => reference(
                "bowditch1808",
                "Bowditch",
                1808,
                "Solution of Mr. Patterson's prize question",
                Article("The Analyst (Philadelphia)", "1", "88-93"),
            ).remembered(),
            Self::Huber1964 => reference(
                "huber1964",
                "Huber",
                1964,
                "Robust estimation of a location parameter",
                Article("Ann. Math. Stat.", "35", "73-101"),
            ).doi("10.1214/aoms/1177703732"),
            Self::Holland1977 => reference(
                "holland1977",
                "Holland & Welsch",
                1977,
                "Robust regression using iteratively reweighted least-squares",
                Article("Commun. Stat. Theory Methods", "6", "813-827"),
            ).doi("10.1080/03610927708827533"),
            Self::Searle1992 => reference(
                "searle1992",
                "Searle, Casella & McCulloch",
                1992,
                "Variance Components",
                Book("Wiley"),
            ).doi("10.1002/9780470316856"),
            Self::Burdick1992 => reference(
                "burdick1992",
                "Burdick & Graybill",
                1992,
                "Confidence Intervals on Variance Components",
                Book("Marcel Dekker"),
            ),
            Self::Browne1995 => reference(
                "browne1995",
                "Browne",
                1995,
                "On the use of a pilot sample for sample size determination",
                Article("Stat. Med.", "14", "1933-1940"),
            ).doi("10.1002/sim.4780141709"),
            Self::Cohen1988 => reference(
                "cohen1988",
                "Cohen",
                1988,
                "Statistical Power Analysis for the Behavioral Sciences, 2nd ed.",
                Book("Lawrence Erlbaum"),
            ),
            Self::Patterson1971 => reference(
                "patterson1971",
                "Patterson & Thompson",
                1971,
                "Recovery of inter-block information when block sizes are unequal",
                Article("Biometrika", "58", "545-554"),
            ).doi("10.1093/biomet/58.3.545"),
            Self::Gilmour1995 => reference(
                "gilmour1995",
                "Gilmour, Thompson & Cullis",
                1995,
                "Average information REML: an efficient algorithm for variance parameter estimation in linear mixed models",
                Article("Biometrics", "51", "1440-1450"),
            ).doi("10.2307/2533274"),
            Self::Knapp2003 => reference(
                "knapp2003",
                "Knapp & Hartung",
                2003,
                "Improved tests for a random effects meta-regression with a single covariate",
                Article("Stat. Med.", "22", "2693-2710"),
            ).doi("10.1002/sim.1482"),
            Self::Kenward1997 => reference(
                "kenward1997",
                "Kenward & Roger",
                1997,
                "Small sample inference for fixed effects from restricted maximum likelihood",
                Article("Biometrics", "53", "983-997"),
            ).doi("10.2307/2533558"),
            Self::Satterthwaite1946 => reference(
                "satterthwaite1946",
                "Satterthwaite",
                1946,
                "An approximate distribution of estimates of variance components",
                Article("Biometrics Bull.", "2", "110-114"),
            ).doi("10.2307/3002019"),
            Self::Nakagawa2010 => reference(
                "nakagawa2010",
                "Nakagawa & Schielzeth",
                2010,
                "Repeatability for Gaussian and non-Gaussian data: a practical guide for biologists",
                Article("Biol. Rev.", "85", "935-956"),
            ).doi("10.1111/j.1469-185X.2010.00141.x"),
            Self::VanDePol2009 => reference(
                "vandepol2009",
                "van de Pol & Wright",
                2009,
                "A simple method for distinguishing within- versus between-subject effects using mixed models",
                Article("Anim. Behav.", "77", "753-758"),
            ).doi("10.1016/j.anbehav.2008.11.006"),
            Self::KaplanMeier1958 => reference(
                "kaplanmeier1958",
                "Kaplan & Meier",
                1958,
                "Nonparametric estimation from incomplete observations",
                Article("J. Am. Stat. Assoc.", "53", "457-481"),
            ).doi("10.1080/01621459.1958.10501452"),
            Self::Greenwood1926 => reference(
                "greenwood1926",
                "Greenwood",
                1926,
                "The natural duration of cancer",
                Article("Reports on Public Health and Medical Subjects", "33", "1-26"),
            ),
            Self::Irwin1949 => reference(
                "irwin1949",
                "Irwin",
                1949,
                "The standard error of an estimate of expectation of life, with special reference to expectation of tumourless life in experiments with mice",
                Article("J. Hyg.", "47", "188"),
            ).doi("10.1017/S0022172400014443"),
            Self::Mantel1966 => reference(
                "mantel1966",
                "Mantel",
                1966,
                "Evaluation of survival data and two new rank order statistics arising in its consideration",
                Article("Cancer Chemother. Rep.", "50", "163-170"),
            ),
            Self::Neuhaus1993 => reference(
                "neuhaus1993",
                "Neuhaus",
                1993,
                "Conditional rank tests for the two-sample problem under random censorship",
                Article("Ann. Stat.", "21", "1760-1779"),
            ).doi("10.1214/aos/1176349396"),
            Self::Wang2010 => reference(
                "wang2010",
                "Wang, Lagakos & Gray",
                2010,
                "Testing and interval estimation for two-sample survival comparisons with small sample sizes and unequal censoring",
                Article("Biostatistics", "11", "676-692"),
            ).doi("10.1093/biostatistics/kxq021"),
            Self::Ditzhaus2023 => reference(
                "ditzhaus2023",
                "Ditzhaus, Yu & Xu",
                2023,
                "Studentized permutation method for comparing two restricted mean survival times with small sample from randomized trials",
                Article("Stat. Med.", "42", "2226-2240"),
            ).doi("10.1002/sim.9720"),
        }
    }

    /// Its key in `references.bib`.
    pub const fn key(self) -> &'static str {
        self.reference().key
    }

    /// Authors and year, as a text cites it.
    pub fn in_text(self) -> String {
        let Reference { authors, year, .. } = self.reference();
        format!("{authors} {year}")
    }

    /// The reference as it would stand in a list of references.
    pub fn citation(self) -> String {
        let Reference { authors, year, title, printed, doi, looked_up, .. } = self.reference();
        let printed = match printed {
            Printed::Article(journal, volume, "") => format!("{journal} {volume}"),
            Printed::Article(journal, volume, pages) => format!("{journal} {volume}:{pages}"),
            Printed::Book(place) | Printed::Other(place) => place.to_owned(),
        };
        let doi = if doi.is_empty() { String::new() } else { format!("doi:{doi}") };
        let memory =
            if looked_up { "" } else { "given from memory: look it up before you cite it" };
        let parts = [title, &printed, &doi, memory].into_iter().filter(|part| !part.is_empty());
        format!("{authors} {year}, {}", parts.collect::<Vec<_>>().join(", "))
    }

    /// The reference as an entry of a BibTeX file; `None` where it was not looked up.
    pub fn bibtex(self) -> Option<String> {
        let Reference { key, authors, year, title, printed, doi, looked_up } = self.reference();
        if !looked_up {
            return None;
        }
        let year = year.to_string();
        let authors = names(authors);
        let (kind, mut fields) = match printed {
            Printed::Article(journal, volume, pages) => {
                ("article", vec![("journal", journal), ("volume", volume), ("pages", pages)])
            }
            Printed::Book(publisher) => ("book", vec![("publisher", publisher)]),
            Printed::Other(place) => ("misc", vec![("howpublished", place)]),
        };
        let head = [("author", authors.as_str()), ("year", &year), ("title", title)];
        fields.splice(0..0, head);
        fields.push(("doi", doi));
        let mut entry = format!("@{kind}{{{key},\n");
        for (field, value) in fields.iter().filter(|(_, value)| !value.is_empty()) {
            entry += &format!("  {field} = {{{}}},\n", value.replace('&', "\\&"));
        }
        Some(entry + "}\n")
    }
}

/// `A, B & C et al.` as a reference manager separates authors.
fn names(authors: &str) -> String {
    let authors = authors.replace(" et al.", ", others");
    authors.replace(" & ", ", ").split(", ").collect::<Vec<_>>().join(" and ")
}

#[cfg(test)]
mod tests {
    use super::Source;

    #[test]
    fn what_was_not_looked_up_says_so_and_stays_out_of_the_bibliography() {
        for source in [Source::Loretto2005, Source::Bowditch1808, Source::Hall1992] {
            assert_eq!(source.bibtex(), None);
            assert!(source.citation().ends_with("from memory: look it up before you cite it"));
        }
    }

    #[test]
    fn a_reference_reads_as_text_and_as_bibtex() {
        let neu = Source::Neu1974;
        assert_eq!(neu.in_text(), "Neu, Byers & Peek 1974");
        assert!(neu.citation().ends_with("J. Wildl. Manage. 38:541-545"));
        let entry = neu.bibtex().unwrap();
        assert!(entry.contains("author = {Neu and Byers and Peek},"), "{entry}");
        let manly = Source::Manly2002.bibtex().unwrap();
        assert!(manly.starts_with("@book{manly2002,") && manly.contains("Manly and others"));
        assert!(manly.contains("  doi = {10.1007/0-306-48151-0},"), "{manly}");
        assert!(Source::Huber1964.citation().ends_with("35:73-101, doi:10.1214/aoms/1177703732"));
    }
}
