//! What many readings share: a covariance of low rank beside that of the factor, and its draws.

use super::errors::Origin;
use nalgebra::{Matrix3, Vector3};

/// Where the standard normal number of a column is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sharing {
    /// For the part alone.
    Part,
    /// For the whole study, by this place: the same for every part in the same draw.
    Study(usize),
}

/// How far every node of a part moves with one standard deviation of one thing that is shared.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// East, north and up by local node, metres.
    pub(super) moves: Vec<Vector3<f64>>,
    /// How far the height read at each node moves, metres; empty where none does.
    pub(super) heights: Vec<f64>,
    pub(super) sharing: Sharing,
}

impl Column {
    /// Where its error comes from: common errors are read, the lean of steep legs is stated.
    pub(super) fn origin(&self) -> Origin {
        match self.sharing {
            Sharing::Part => Origin::Stated,
            Sharing::Study(_) => Origin::Read,
        }
    }
}

/// Everything that the readings of a part share.
#[derive(Clone, Debug, Default)]
pub(super) struct Shared(pub(super) Vec<Column>);

impl Shared {
    /// What it adds to the covariance of a node.
    pub(super) fn of_node(&self, node: usize) -> Matrix3<f64> {
        self.0.iter().map(|column| square(column.moves[node])).sum()
    }

    /// What it adds to the covariance of the vector from one node to another.
    pub(super) fn between(&self, from: usize, to: usize) -> Matrix3<f64> {
        self.0.iter().map(|column| square(column.moves[to] - column.moves[from])).sum()
    }
}

fn square(v: Vector3<f64>) -> Matrix3<f64> {
    v * v.transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// (1, 2, 0) and (4, 2, 0): the line between moves by (3, 0, 0); with a second column that lifts
    /// the far end by 2 m, by (0, 0, 2) beside it.
    #[test]
    fn a_line_moves_by_the_difference_of_its_ends() {
        let column = |moves: [[f64; 3]; 2]| Column {
            moves: moves.map(Vector3::from).to_vec(),
            heights: Vec::new(),
            sharing: Sharing::Part,
        };
        let one = column([[1.0, 2.0, 0.0], [4.0, 2.0, 0.0]]);
        let other = column([[0.0; 3], [0.0, 0.0, 2.0]]);
        let shared = Shared(vec![one, other]);
        let square = |v: [f64; 3]| square(Vector3::from(v));
        assert_eq!(shared.of_node(0), square([1.0, 2.0, 0.0]));
        assert_eq!(shared.of_node(1), square([4.0, 2.0, 0.0]) + square([0.0, 0.0, 2.0]));
        assert_eq!(shared.between(0, 1), square([3.0, 0.0, 0.0]) + square([0.0, 0.0, 2.0]));
        assert_eq!(Shared::default().between(0, 1), Matrix3::zeros());
    }
}
