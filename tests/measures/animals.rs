//! From trails to animals, and from animals to what their groups come to; worked by hand.

use approx::assert_relative_eq;
use perchline::measures::compare::animals::{AnimalValue, Roster, TrailValue, averages};
use perchline::measures::compare::covariate;
use perchline::measures::compare::directions::{headings, mean_vector};
use perchline::measures::compare::factors::{Factor, NIGHT};
use perchline::measures::compare::groups::{shared, split};
use perchline::measures::compare::summary::{Resampled, Summary};
use perchline::survey::Survey;
use perchline::survey::input::source::read_survey;
use perchline::survey::names::Name;
use std::fs;
use tempfile::TempDir;

/// Hazel has two trails and Ash is in no table of animals; nobody knows whose C is.
const TRAILS: &str = "trail,animal,date,rain_mm,note\n\
    A,Hazel,2024-06-03,10,x\nB,Oak,2024-06-01,9,x\nC,,2024-06-01,2,x\n\
    D,Hazel,2024-06-02,,x\nE,Ash,2024-06-04,9,x\n";
const ANIMALS: &str = "animal,sex,body_mass_g,note\nOak,m,101.5,x\nHazel,f,88,x\nYew,m,inf,x\n";

fn survey(trails: &str, animals: &str) -> Survey {
    let folder = TempDir::new().unwrap();
    let mut anchors = String::from("trail,anchor,tape_m\n");
    for row in trails.lines().skip(1) {
        let trail = row.split([',', ';']).next().unwrap();
        anchors += &format!("{trail},1,\n{trail},2,3\n");
    }
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("anchors.csv", &anchors);
    write("trails.csv", trails);
    write("animals.csv", animals);
    read_survey(folder.path(), &[]).unwrap().0
}

fn woods() -> Survey {
    survey(TRAILS, ANIMALS)
}

fn called<'s>(survey: &'s Survey, names: &[Name]) -> Vec<&'s str> {
    names.iter().map(|&name| survey.text(name)).collect()
}

fn animals<'s>(survey: &'s Survey, roster: &Roster) -> Vec<(&'s str, Vec<usize>)> {
    roster.animals.iter().map(|(name, rows)| (survey.text(*name), rows.clone())).collect()
}

fn value(listed: usize, value: f64, se: f64) -> TrailValue {
    TrailValue { listed, value, se: Some(se), at_least: false }
}

#[test]
fn every_trail_is_given_to_its_animal() {
    let survey = woods();
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4]);
    let own = [("Oak", vec![1]), ("Hazel", vec![0, 3]), ("Ash", vec![4])];
    assert_eq!(animals(&survey, &roster), own);
    assert_eq!(called(&survey, &roster.nameless), ["C"]);
    assert_eq!(called(&survey, &roster.idle), ["Yew"]);
    let roster = Roster::of(&survey, &[2, 3]);
    assert_eq!(animals(&survey, &roster), [("Hazel", vec![3])]);
    assert_eq!(called(&survey, &roster.idle), ["Oak", "Yew"]);
}

/// Of 4 ± 0.3 and 8 ± 0.4 the mean is 6, its standard error √(0.09 + 0.16) / 2 = 0.25.
#[test]
fn an_animal_is_the_mean_of_its_trails() {
    let survey = woods();
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4]);
    let mut values = vec![value(0, 4.0, 0.3), value(3, 8.0, 0.4), value(4, 5.0, 0.1)];
    let found = averages(&roster, &values, |_| true);
    assert_eq!(found.len(), 2, "Oak has no value");
    let [hazel, ash] = [found[0], found[1]];
    assert_eq!((survey.text(hazel.animal), hazel.trails, hazel.at_least), ("Hazel", 2, false));
    assert_relative_eq!(hazel.value, 6.0);
    assert_relative_eq!(hazel.se.unwrap(), 0.25, max_relative = 1e-12);
    assert_eq!((survey.text(ash.animal), ash.trails, ash.value), ("Ash", 1, 5.0));
    let late = averages(&roster, &values, |row| row > 0);
    assert_eq!((late[0].value, late[0].trails), (8.0, 1));
    values[1] = TrailValue { se: None, at_least: true, ..values[1] };
    let hazel = averages(&roster, &values, |_| true)[0];
    assert_eq!((hazel.value, hazel.se, hazel.at_least), (6.0, None, true));
}

#[test]
fn any_column_divides_animals_or_trails() {
    let survey = woods();
    assert_eq!(survey.factor_columns(), ["sex", "body_mass_g", "date", "rain_mm"]);
    let of = |name: &str| Factor::of(&survey, name);
    for name in ["animal", "trail", "height"] {
        assert_eq!(of(name), None, "{name}");
    }
    let sex = of("sex").unwrap();
    assert!(sex.of_animal);
    let levels: Vec<_> = (0..5).map(|row| sex.level(row)).collect();
    assert_eq!(levels, [Some("f"), Some("m"), None, Some("f"), None]);
    assert_eq!(sex.levels(0..5), ["f", "m"]);
    assert_eq!(sex.number(0), None, "a word is no number");
    let mass = of("body_mass_g").unwrap();
    assert_eq!([0, 1, 2].map(|row| mass.number(row)), [Some(88.0), Some(101.5), None]);
    let rain = of("rain_mm").unwrap();
    assert!(!rain.of_animal);
    assert_eq!([0, 3, 4].map(|row| rain.number(row)), [Some(10.0), None, Some(9.0)]);
    // By size, not by letter.
    assert_eq!(rain.levels(0..5), ["2", "9", "10"]);
}

#[test]
fn what_is_no_finite_number_is_none() {
    let endless = survey(TRAILS, "animal,weight\nOak,inf\nHazel,NaN\nAsh,1e3\n");
    let weight = Factor::of(&endless, "weight").unwrap();
    assert_eq!([0, 1, 4].map(|row| weight.number(row)), [None, None, Some(1000.0)]);
}

#[test]
fn numbers_with_a_comma_are_read_where_semicolons_part_the_cells() {
    let trails = "trail;animal;rain_mm\nA;Hazel;1,5\nB;Oak;12,25\n";
    let rain = Factor::of(&survey(trails, ANIMALS), "rain_mm").unwrap();
    assert_eq!([0, 1].map(|row| rain.number(row)), [Some(1.5), Some(12.25)]);
    let with_points = "trail,animal,rain_mm\nA,Hazel,\"1,5\"\n";
    let rain = Factor::of(&survey(with_points, ANIMALS), "rain_mm").unwrap();
    assert_eq!(rain.number(0), None);
}

/// Hazel's first trail by date is D.
#[test]
fn nights_count_the_trails_of_each_animal_by_date() {
    let survey = woods();
    let night = Factor::of(&survey, NIGHT).unwrap();
    let levels: Vec<_> = (0..5).map(|row| night.level(row)).collect();
    assert_eq!(levels, [Some("2"), Some("1"), None, Some("1"), Some("1")]);
    let undated = "trail,animal\nA,Oak\nB,Oak\nC,Oak\n";
    let night = Factor::of(&self::survey(undated, ANIMALS), NIGHT).unwrap();
    assert_eq!([0, 1, 2].map(|row| night.level(row)), [Some("1"), Some("2"), Some("3")]);
}

#[test]
fn an_animal_stands_in_every_group_it_has_a_trail_in() {
    let survey = woods();
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4]);
    let values: Vec<TrailValue> = (0..5).map(|row| value(row, 1.0 + row as f64, 0.1)).collect();
    let groups = split(&roster, &Factor::of(&survey, NIGHT).unwrap(), &values);
    let found: Vec<(&str, Vec<f64>)> =
        groups.iter().map(|group| (group.name.as_str(), group.numbers())).collect();
    assert_eq!(found, [("1", vec![2.0, 4.0, 5.0]), ("2", vec![1.0])]);
    assert_eq!(called(&survey, &shared(&groups)), ["Hazel"]);
    let by_sex = split(&roster, &Factor::of(&survey, "sex").unwrap(), &values);
    assert_eq!(by_sex[0].numbers(), [2.5], "the mean of 1 and 4");
    assert_eq!(shared(&by_sex), []);
}

/// Hazel: only trail A has both numbers; Oak and Ash have one trail each.
#[test]
fn a_covariate_is_averaged_over_the_trails_that_have_both() {
    let trails = "trail,animal,rain_mm\nA,Hazel,10\nB,Oak,9\nC,,2\nD,Hazel,\nE,Hazel,4\n";
    let survey = survey(trails, ANIMALS);
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4]);
    let rain = Factor::of(&survey, "rain_mm").unwrap();
    let mut values = vec![value(0, 3.0, 0.1), value(2, 8.0, 0.1), value(3, 70.0, 0.1)];
    values.push(TrailValue { at_least: true, ..value(4, 6.0, 0.1) });
    let found = covariate::pairs(&roster, &rain, &values);
    assert_eq!(found.len(), 1, "Oak has no value, C no animal");
    assert_eq!((survey.text(found[0].animal), found[0].at_least), ("Hazel", true));
    assert_eq!((found[0].x, found[0].y), (7.0, 4.5)); // (10 + 4) / 2, (3 + 6) / 2
    values.pop();
    let alone = covariate::pairs(&roster, &rain, &values)[0];
    assert_eq!((alone.x, alone.y, alone.at_least), (10.0, 3.0, false));
}

/// 350° and 20° have the mean direction 5°; north and south have none.
#[test]
fn an_animal_heads_where_its_trails_head_on_the_whole() {
    let survey = survey("trail,animal\nA,Hazel\nB,Oak\nC,Oak\nD,Hazel\nE,Ash\n", ANIMALS);
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4]);
    let bearings = [(0, 350.0), (1, 0.0), (2, 180.0), (3, 20.0), (4, 95.0)];
    let bearings = bearings.map(|(row, degrees)| value(row, degrees, 1.0));
    let found = headings(&roster, &bearings, |_| true);
    assert_eq!(found.len(), 2, "Oak's cancel");
    assert_relative_eq!(found[0].to_degrees(), 5.0, max_relative = 1e-12);
    assert_relative_eq!(found[1].to_degrees(), 95.0, max_relative = 1e-12);
    // 5° and 95°: the mean lies half way, and is √½ long.
    let vector = mean_vector(&found);
    assert_relative_eq!(vector.direction().unwrap().to_degrees(), 50.0, max_relative = 1e-12);
    assert_relative_eq!(vector.resultant().unwrap(), 0.5_f64.sqrt(), max_relative = 1e-12);
}

fn of_animals(numbers: &[(f64, f64)]) -> Vec<AnimalValue> {
    let survey = woods();
    let animal = survey.names.find("Oak").unwrap();
    let of = |&(value, se): &(f64, f64)| AnimalValue {
        animal,
        trails: 1,
        value,
        se: Some(se),
        at_least: value > 5.0,
    };
    numbers.iter().map(of).collect()
}

/// Of 1, 2, 4, 9: mean 4, Σ (x − 4)² = 9 + 4 + 0 + 25 = 38, sd √(38/3), its error √(38/12).
/// Quartiles by type 7: at ¾ of the way from 1 to 2, and a quarter from 4 to 9.
/// By measurement alone: √(0.01 + 0.04 + 0.04 + 0.16) / 4 = 0.125.
#[test]
fn a_summary_worked_by_hand() {
    let values = of_animals(&[(9.0, 0.4), (1.0, 0.1), (4.0, 0.2), (2.0, 0.2)]);
    let found = Summary::of(&values);
    assert_eq!((found.animals, found.at_least), (4, 1));
    let close = |found: Option<f64>, expected: f64| {
        assert_relative_eq!(found.unwrap(), expected, max_relative = 1e-12);
    };
    close(found.mean, 4.0);
    close(found.sd, (38.0_f64 / 3.0).sqrt());
    close(found.se, (38.0_f64 / 12.0).sqrt());
    close(found.measurement_se, 0.125);
    close(found.median, 3.0);
    assert_eq!(found.quartiles, Some([1.75, 5.25]));
    assert_eq!(found.range, Some([1.0, 9.0]));
    assert_eq!((found.mean_interval, found.median_interval), (None, None));
    let nothing = Summary::of(&[]);
    assert_eq!(nothing, Summary::default());
    let mut unknown = values;
    unknown[2].se = None;
    assert_eq!(Summary::of(&unknown).measurement_se, None);
}

/// Each interval holds its own estimate, and needs draws.
#[test]
fn intervals_of_mean_and_median_are_about_them() {
    let numbers: Vec<(f64, f64)> =
        [1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 30.0].iter().map(|x| (*x, 0.1)).collect();
    let values = of_animals(&numbers);
    let found = Summary::with_intervals(&values, &mut Resampled::new(1));
    let (mean, median) = (found.mean_interval.unwrap(), found.median_interval.unwrap());
    assert!(mean[0] < 47.5 / 7.0 && 47.5 / 7.0 < mean[1] && mean[1] > 10.0, "{mean:?}");
    assert!(median[0] < 3.0 && 3.0 < median[1] && median[1] <= 5.0, "{median:?}");
    assert_eq!(found.median, Some(3.0));
    let without = Summary::with_intervals(&values, &mut Resampled::none());
    // without resamples only the median lacks its interval
    assert_eq!(without, Summary { mean_interval: found.mean_interval, ..Summary::of(&values) });
    let five = Summary::with_intervals(&values[..5], &mut Resampled::new(1));
    assert!(five.mean_interval.is_some() && five.median_interval.is_none(), "{five:?}");
}
