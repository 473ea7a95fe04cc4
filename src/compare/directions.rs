//! Whether animals head one way: one direction an animal, the mean of its trails' net bearings.

use super::animals::{Roster, TrailValue};
use super::test_row::TestRow;
use crate::quantity::Bearing;
use crate::statistics::circular::MeanVector;

/// The mean direction of each animal, from bearings in degrees; an animal whose trails cancel has
/// none.
pub fn headings(roster: &Roster, bearings: &[TrailValue]) -> Vec<Bearing> {
    let of = |(_, trails): &(_, Vec<usize>)| {
        let own = bearings.iter().filter(|value| trails.contains(&value.listed));
        let radians = own.map(|value| Bearing::from_degrees(value.value).to_radians());
        MeanVector::of(radians).direction().map(Bearing::from_radians)
    };
    roster.animals.iter().filter_map(of).collect()
}

/// The mean vector of headings.
pub fn mean_vector(headings: &[Bearing]) -> MeanVector {
    MeanVector::of(headings.iter().map(|bearing| bearing.to_radians()))
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
