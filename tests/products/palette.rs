//! The palette, as readers who lack a kind of cone and grey print have it.

use perchline::products::scene::palette::{
    ALERT, CATEGORIES, Colour, INK, PAPER, QUIET, category, stratum,
};

/// Linear light of an sRGB channel (IEC 61966-2-1).
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

fn rgb(colour: Colour) -> [f64; 3] {
    [linear(colour.0), linear(colour.1), linear(colour.2)]
}

/// Relative luminance (Rec. 709).
fn luminance([r, g, b]: [f64; 3]) -> f64 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// Contrast ratio as WCAG 2.1 defines it.
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// What a reader sees who lacks one kind of cone, in linear light: Machado, Oliveira & Fernandes
/// 2009, A physiologically-based model for simulation of color vision deficiency, IEEE Trans. Vis.
/// Comput. Graph. 15:1291-1298, severity 1.0, from memory; the rows sum to 1, which is checked.
const READERS: [(&str, [[f64; 3]; 3]); 3] = [
    (
        "protanopia",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
];

fn seen(matrix: &[[f64; 3]; 3], colour: Colour) -> [f64; 3] {
    let [r, g, b] = rgb(colour);
    matrix.map(|[x, y, z]| (x * r + y * g + z * b).clamp(0.0, 1.0))
}

/// CIE 1976 L*a*b* of linear sRGB under D65, and the distance in it.
fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    let lab = |[r, g, b]: [f64; 3]| {
        let x = 0.4124 * r + 0.3576 * g + 0.1805 * b;
        let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        let z = 0.0193 * r + 0.1192 * g + 0.9505 * b;
        let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        let [x, y, z] = [f(x / 0.9505), f(y), f(z / 1.089)];
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    };
    let (a, b) = (lab(a), lab(b));
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// What a reader sees of a colour, in linear light.
type Sight = Box<dyn Fn(Colour) -> [f64; 3]>;

/// Every reader: all cones, each kind lacking.
fn readers() -> Vec<(&'static str, Sight)> {
    let mut all: Vec<(&str, Sight)> = vec![("all cones", Box::new(rgb))];
    for (name, matrix) in &READERS {
        all.push((*name, Box::new(move |colour| seen(matrix, colour))));
    }
    all
}

#[test]
fn the_readers_see_white_as_white() {
    for (name, matrix) in &READERS {
        for row in matrix {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-5, "{name}");
        }
    }
}

/// Strata are a row of lightness, so that grey print keeps their order.
#[test]
fn each_stratum_is_darker_than_the_one_below_for_every_reader() {
    for count in 2..=6 {
        for (name, see) in readers() {
            let row: Vec<f64> = (0..count).map(|at| luminance(see(stratum(at, count)))).collect();
            for pair in row.windows(2) {
                let ratio = (pair[0] + 0.05) / (pair[1] + 0.05);
                assert!(ratio > 1.25, "{name}, {count} strata: {row:?}");
            }
        }
    }
    assert!(contrast(rgb(stratum(0, 5)), rgb(PAPER)) > 1.5);
}

/// More strata than colours share them out; the order of lightness stays.
#[test]
fn many_strata_stay_in_order() {
    let row: Vec<f64> = (0..12).map(|at| luminance(rgb(stratum(at, 12)))).collect();
    assert!(row.windows(2).all(|pair| pair[0] > pair[1]), "{row:?}");
}

/// Categories differ in colour for every reader (20 is several times what is told apart side by
/// side), and besides in symbol and dash, which grey print keeps.
#[test]
fn categories_are_told_apart_by_every_reader() {
    for a in 0..CATEGORIES.len() {
        for b in 0..a {
            let (one, other) = (category(a), category(b));
            assert!(one.symbol != other.symbol && one.dash != other.dash);
            for (name, see) in readers() {
                let apart = distance(see(one.colour), see(other.colour));
                assert!(apart > 20.0, "{name}: {a} and {b} are {apart:.1} apart");
            }
        }
    }
}

/// The first four also differ in lightness, for grey print without symbols.
#[test]
fn the_first_categories_differ_in_grey() {
    let mut grey: Vec<f64> = (0..4).map(|at| luminance(rgb(category(at).colour))).collect();
    grey.sort_by(f64::total_cmp);
    let ratio = |pair: &[f64]| (pair[1] + 0.05) / (pair[0] + 0.05);
    assert!(grey.windows(2).all(|pair| ratio(pair) > 1.2), "{grey:?}");
}

/// 4.5 is what WCAG 2.1 (1.4.3) asks of text.
#[test]
fn text_is_readable() {
    for colour in [INK, QUIET, ALERT] {
        let found = contrast(rgb(colour), rgb(PAPER));
        assert!(found >= 4.5, "{colour:?}: {found:.2}");
    }
}
