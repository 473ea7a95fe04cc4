//! Whether animals head one way: one direction an animal, the mean of its trails' net bearings.

use super::animals::{Roster, TrailValue};
use super::test_row::TestRow;
use crate::maths::quantity::{Bearing, Turn};
use crate::maths::statistics::circular::{
    MeanVector, deviations, interval_of_direction, two_directions, watson_u2,
};

/// The mean direction of each animal, from bearings in degrees; an animal whose trails cancel has
/// none.
pub fn headings(
    roster: &Roster,
    bearings: &[TrailValue],
    take: impl Fn(usize) -> bool,
) -> Vec<Bearing> {
    let of = |(_, trails): &(_, Vec<usize>)| {
        let own = bearings.iter().filter(|value| trails.contains(&value.listed));
        let own = own.filter(|value| take(value.listed));
        let radians = own.map(|value| Bearing::from_degrees(value.value).to_radians());
        MeanVector::of(radians).direction().map(Bearing::from_radians)
    };
    roster.animals.iter().filter_map(of).collect()
}

/// The mean vector of headings.
pub fn mean_vector(headings: &[Bearing]) -> MeanVector {
    MeanVector::of(headings.iter().map(|bearing| bearing.to_radians()))
}

/// The mean direction of a group with its interval, in degrees.
pub fn mean_direction(group: &str, headings: &[Bearing], seed: u64) -> TestRow {
    let angles = sorted(headings);
    let row = TestRow {
        test: "mean_direction",
        groups: group.to_owned(),
        animals: vec![headings.len()],
        ..TestRow::default()
    };
    let vector = MeanVector::of(angles.iter().copied());
    let Some(mean) = vector.direction() else {
        return TestRow { reason: "no mean direction: none, or they cancel".into(), ..row };
    };
    // ends may pass north: they are left as they follow from the mean, low below high
    let interval = interval_of_direction(&angles, seed);
    let shift = if mean < 0.0 { 360.0 } else { 0.0 };
    let reason = match interval {
        Some(_) => "an interval of a direction, and no p",
        None => "no interval: too few animals, or no common direction",
    };
    TestRow {
        statistic: vector.resultant(),
        effect: Some(degrees(mean) + shift),
        effect_name: "mean_direction_deg",
        interval: interval.map(|ends| ends.map(|end| degrees(end) + shift)),
        reason: reason.into(),
        ..row
    }
}

/// Whether two groups head the same way, and whether their directions differ in any manner.
pub fn between([first, second]: [(&str, &[Bearing]); 2], seed: u64) -> Vec<TestRow> {
    let (a, b) = (sorted(first.1), sorted(second.1));
    let row = |test| TestRow {
        test,
        groups: format!("{} - {}", first.0, second.0),
        animals: vec![a.len(), b.len()],
        ..TestRow::default()
    };
    let Some(found) = two_directions(&a, &b, seed) else {
        let reason = "needs three animals in each group that head somewhere".into();
        return vec![TestRow { reason, ..row("same_direction") }];
    };
    let same = TestRow {
        statistic: Some(found.test.statistic),
        effect: Some(degrees(found.difference)),
        effect_name: "difference_of_mean_directions_deg",
        ..row("same_direction")
    };
    let any = watson_u2(&a, &b, seed)
        .map(|test| TestRow { statistic: Some(test.statistic), ..row("watson_u2") }.with(&test));
    std::iter::once(same.with(&found.test)).chain(any).collect()
}

/// How far animals head from a bearing stated for each: the mean with its interval, and the V-test
/// about none.
pub fn towards(place: &str, animals: &[[Bearing; 2]], seed: u64) -> Vec<TestRow> {
    let pairs: Vec<[f64; 2]> = animals.iter().map(|pair| pair.map(|b| b.to_radians())).collect();
    let found = deviations(&pairs, seed);
    let row = |test| TestRow {
        test,
        groups: place.to_owned(),
        animals: vec![animals.len()],
        ..TestRow::default()
    };
    let (Some(mean), true) = (found.mean, animals.len() > 1) else {
        let reason = "needs two animals with a net bearing and a known release".into();
        return vec![TestRow { reason, ..row("heading_to_place") }];
    };
    let turned = TestRow {
        statistic: found.vector.resultant(),
        effect: Some(degrees(mean)),
        effect_name: "mean_deviation_deg",
        interval: found.interval.map(|ends| ends.map(degrees)),
        reason: "from the bearing of the place; an interval, and no p".into(),
        ..row("heading_to_place")
    };
    let v_test = found.vector.v_test(0.0).map(|test| TestRow {
        statistic: Some(test.u),
        effect: Some(test.v / animals.len() as f64),
        effect_name: "mean_component",
        p: Some(test.p),
        reason: "one-sided: towards the place".into(),
        ..row("v_test_to_place")
    });
    std::iter::once(turned).chain(v_test).collect()
}

/// An angle in degrees, not brought to a circle: an interval may pass north.
fn degrees(angle: f64) -> f64 {
    angle * Turn::from_radians(1.0).to_degrees()
}

/// In rising order: no number may depend on the order of a table.
fn sorted(headings: &[Bearing]) -> Vec<f64> {
    let mut angles: Vec<f64> = headings.iter().map(|bearing| bearing.to_radians()).collect();
    angles.sort_by(f64::total_cmp);
    angles
}

/// The Rayleigh test, and where a direction is stated, the V-test against it.
pub fn tests(headings: &[Bearing], stated: Option<Bearing>) -> Vec<TestRow> {
    let vector = mean_vector(headings);
    let animals = vec![headings.len()];
    if headings.len() < 4 {
        let reason = "needs four animals with a net bearing";
        return vec![TestRow::refused("rayleigh", String::new(), animals, reason)];
    }
    let n = headings.len() as f64;
    let rayleigh = TestRow {
        test: "rayleigh",
        animals: animals.clone(),
        statistic: vector.resultant().map(|r| n * r * r),
        effect: vector.resultant(),
        effect_name: "mean_resultant_length",
        p: vector.rayleigh_p(),
        ..TestRow::default()
    };
    let v_test = stated.and_then(|stated| {
        let test = vector.v_test(stated.to_radians())?;
        Some(TestRow {
            test: "v_test",
            groups: format!("{:.0}", stated.to_degrees()),
            animals,
            statistic: Some(test.u),
            effect: Some(test.v / n),
            effect_name: "mean_component",
            p: Some(test.p),
            reason: "one-sided: towards the stated direction".into(),
            ..TestRow::default()
        })
    });
    std::iter::once(rayleigh).chain(v_test).collect()
}
