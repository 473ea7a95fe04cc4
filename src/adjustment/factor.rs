//! The sparse Cholesky factor of a symmetric matrix of 3 × 3 blocks, one block a node.
//!
//! The pattern (order and fill) is found once; numbers are factorised into it as often as needed.
//! Source of the order: [`Source::Amestoy1996`](crate::survey::sources::Source::Amestoy1996).

use nalgebra::{Matrix3, Vector3};

/// Where the blocks of the factor lie. Columns stand in elimination order.
#[derive(Clone, Debug, Default)]
pub(super) struct Pattern {
    /// The node eliminated at each place.
    pub(super) node_at: Vec<usize>,
    /// The place at which each node is eliminated.
    pub(super) place_of: Vec<usize>,
    /// Where the blocks below the diagonal of each column begin; one more than there are columns.
    pub(super) starts: Vec<usize>,
    /// The row of each block below the diagonal, ascending within a column.
    pub(super) rows: Vec<usize>,
}

/// A coordinate known no better than this, metres, with its neighbours held, is not known: its leg
/// has come to stand plumb, where a tape has no derivative along its bearing.
const LOOSE_M: f64 = 1e3;

/// A symmetric matrix laid out on a pattern, and after [`Pattern::factorise`] its factor in place.
#[derive(Clone, Debug, Default)]
pub(super) struct Blocks {
    /// The diagonal block of each column; in a factor the diagonal of each such block holds its
    /// reciprocals.
    pub(super) diagonal: Vec<Matrix3<f64>>,
    /// The blocks below the diagonal.
    pub(super) below: Vec<Matrix3<f64>>,
}

impl Blocks {
    /// A zero matrix on `pattern`.
    pub(super) fn zero(pattern: &Pattern) -> Self {
        Self {
            diagonal: vec![Matrix3::zeros(); pattern.node_at.len()],
            below: vec![Matrix3::zeros(); pattern.rows.len()],
        }
    }

    /// Whether a factor leaves no coordinate loose, all others held: [`LOOSE_M`].
    pub(super) fn is_firm(&self) -> bool {
        let greatest = |l: &Matrix3<f64>| l.m11.max(l.m22).max(l.m33); // reciprocals
        self.diagonal.iter().all(|l| greatest(l) < LOOSE_M)
    }

    /// Sets all to zero.
    pub(super) fn clear(&mut self) {
        self.diagonal.fill(Matrix3::zeros());
        self.below.fill(Matrix3::zeros());
    }
}

impl Pattern {
    /// The pattern of a matrix whose nodes `edges` join.
    pub(super) fn of(count: usize, edges: &[(usize, usize)]) -> Self {
        let mut edges: Vec<(usize, usize)> =
            edges.iter().filter(|(a, b)| a != b).map(|&(a, b)| (a.min(b), a.max(b))).collect();
        edges.sort_unstable();
        edges.dedup(); // the ordering wants each edge once
        let node_at = fill_reducing_order(count, &edges);
        let mut place_of = vec![0; count];
        for (place, &node) in node_at.iter().enumerate() {
            place_of[node] = place;
        }
        let mut columns: Vec<Vec<usize>> = vec![Vec::new(); count];
        for &(a, b) in &edges {
            let (a, b) = (place_of[a], place_of[b]);
            columns[a.min(b)].push(a.max(b));
        }
        let (mut starts, mut rows) = (vec![0], Vec::with_capacity(edges.len() * 2));
        for column in 0..count {
            let mut own = std::mem::take(&mut columns[column]);
            own.sort_unstable();
            own.dedup();
            // What a column leaves behind fills the column of its first row.
            if let Some((&parent, rest)) = own.split_first() {
                columns[parent].extend_from_slice(rest);
            }
            rows.extend_from_slice(&own);
            starts.push(rows.len());
        }
        Self { node_at, place_of, starts, rows }
    }

    /// Where the block of the nodes `a` and `b` lies, and whether it stands transposed, that is,
    /// with `a` as its column. Both nodes must be joined in the pattern.
    pub(super) fn block(&self, a: usize, b: usize) -> (usize, bool) {
        let (a, b) = (self.place_of[a], self.place_of[b]);
        let (column, row) = (a.min(b), a.max(b));
        let range = self.starts[column]..self.starts[column + 1];
        let offset = self.rows[range.clone()].partition_point(|&other| other < row);
        (range.start + offset, a < b)
    }

    fn column(&self, column: usize) -> std::ops::Range<usize> {
        self.starts[column]..self.starts[column + 1]
    }

    /// Factorises `matrix` in place into L with L Lᵀ = matrix; `false` if it is not positive
    /// definite.
    pub(super) fn factorise(&self, matrix: &mut Blocks) -> bool {
        for column in 0..self.node_at.len() {
            let Some(l) = cholesky(&matrix.diagonal[column]) else { return false };
            matrix.diagonal[column] = l;
            let range = self.column(column);
            for at in range.clone() {
                matrix.below[at] = times_inverse_transpose(&matrix.below[at], &l);
            }
            for left in range.clone() {
                self.subtract_outer(matrix, left, range.end);
            }
        }
        true
    }

    /// Takes the products of the block at `left` with itself and those after it, up to `end`,
    /// from the column that `left` names.
    #[inline]
    fn subtract_outer(&self, matrix: &mut Blocks, left: usize, end: usize) {
        let column = self.rows[left];
        let transposed = matrix.below[left].transpose();
        let own = matrix.below[left] * transposed;
        matrix.diagonal[column] -= own;
        let mut target = self.starts[column];
        for other in left + 1..end {
            while self.rows[target] != self.rows[other] {
                target += 1;
            }
            let product = matrix.below[other] * transposed;
            matrix.below[target] -= product;
        }
    }

    /// Solves L Lᵀ x = b; `b` is by node and becomes x.
    pub(super) fn solve(&self, factor: &Blocks, b: &mut [Vector3<f64>]) {
        for (column, &node) in self.node_at.iter().enumerate() {
            let x = solve_lower(&factor.diagonal[column], b[node]);
            b[node] = x;
            for at in self.column(column) {
                b[self.node_at[self.rows[at]]] -= factor.below[at] * x;
            }
        }
        for (column, &node) in self.node_at.iter().enumerate().rev() {
            let mut rest = b[node];
            for at in self.column(column) {
                rest -= factor.below[at].tr_mul(&b[self.node_at[self.rows[at]]]);
            }
            b[node] = solve_upper(&factor.diagonal[column], rest);
        }
    }

    /// The diagonal blocks of the inverse, and the blocks at the pattern's places, by the
    /// recursion of [`Source::Takahashi1973`](crate::survey::sources::Source::Takahashi1973):
    ///
    /// ```text
    /// M_kj = L_kj L_jj⁻¹,   Z_ij = − Σ_k Z_ik M_kj,   Z_jj = (L_jj L_jjᵀ)⁻¹ − Σ_k M_kjᵀ Z_kj
    /// ```
    pub(super) fn inverse(&self, factor: &Blocks) -> Blocks {
        let mut z = Blocks::zero(self);
        let mut m: Vec<Matrix3<f64>> = Vec::new();
        for column in (0..self.node_at.len()).rev() {
            let range = self.column(column);
            let l = inverse_lower(&factor.diagonal[column]);
            m.clear();
            m.extend(factor.below[range.clone()].iter().map(|block| block * l));
            for i in range.clone() {
                z.below[i] = self.row_of_inverse(&z, range.clone(), i, &m);
            }
            let mut diagonal = l.tr_mul(&l);
            for (at, m) in range.clone().zip(&m) {
                diagonal -= m.tr_mul(&z.below[at]);
            }
            z.diagonal[column] = (diagonal + diagonal.transpose()) * 0.5;
        }
        z
    }

    /// The block at `i` of the inverse, in the column whose blocks are `range`.
    ///
    /// ```text
    /// Z_ij = − Σ_k Z_ik M_kj
    /// ```
    #[inline]
    fn row_of_inverse(
        &self,
        z: &Blocks,
        range: std::ops::Range<usize>,
        i: usize,
        m: &[Matrix3<f64>],
    ) -> Matrix3<f64> {
        let row = self.rows[i];
        let mut sum = z.diagonal[row] * m[i - range.start];
        // Rows after i stand in column `row`, which holds them all; rows before i hold i.
        let mut target = self.starts[row];
        for k in i + 1..range.end {
            while self.rows[target] != self.rows[k] {
                target += 1;
            }
            sum += z.below[target].tr_mul(&m[k - range.start]);
        }
        for k in range.start..i {
            let column = self.rows[k];
            let within = self.column(column);
            let offset = self.rows[within.clone()].partition_point(|&other| other < row);
            sum += z.below[within.start + offset] * m[k - range.start];
        }
        -sum
    }
}

/// An order of elimination that keeps the fill low; each edge stands once in `edges`.
fn fill_reducing_order(count: usize, edges: &[(usize, usize)]) -> Vec<usize> {
    let mut neighbours = vec![0_i32; count + 1];
    for &(a, b) in edges {
        neighbours[a + 1] += 1;
        neighbours[b + 1] += 1;
    }
    for node in 0..count {
        neighbours[node + 1] += neighbours[node];
    }
    let starts = neighbours.clone();
    let mut next = neighbours;
    let mut joined = vec![0_i32; usize::try_from(starts[count]).unwrap_or(0)];
    for &(a, b) in edges {
        for (one, other) in [(a, b), (b, a)] {
            if let (Ok(at), Ok(other)) = (usize::try_from(next[one]), i32::try_from(other)) {
                joined[at] = other;
                next[one] += 1;
            }
        }
    }
    if joined.len() < count {
        return (0..count).collect(); // fewer joints than nodes: any order is free of fill
    }
    let size = i32::try_from(count).unwrap_or(i32::MAX);
    match amd::order(size, &starts, &joined, &amd::Control::default()) {
        Ok((order, _, _)) => order.into_iter().filter_map(|n| usize::try_from(n).ok()).collect(),
        Err(_) => (0..count).collect(), // walking order: more fill, the same numbers
    }
}

/// The lower Cholesky factor of a 3 × 3 block, with reciprocals on the diagonal; `None` if it is
/// not positive definite.
#[inline]
fn cholesky(a: &Matrix3<f64>) -> Option<Matrix3<f64>> {
    let r11 = reciprocal_root(a.m11)?;
    let (l21, l31) = (a.m21 * r11, a.m31 * r11);
    let r22 = reciprocal_root(a.m22 - l21 * l21)?;
    let l32 = (a.m32 - l31 * l21) * r22;
    let r33 = reciprocal_root(a.m33 - l31 * l31 - l32 * l32)?;
    Some(Matrix3::new(r11, 0.0, 0.0, l21, r22, 0.0, l31, l32, r33))
}

#[inline]
fn reciprocal_root(value: f64) -> Option<f64> {
    (value > 0.0 && value.is_finite()).then(|| 1.0 / value.sqrt())
}

/// a L⁻ᵀ
#[inline]
fn times_inverse_transpose(a: &Matrix3<f64>, l: &Matrix3<f64>) -> Matrix3<f64> {
    let x = a.column(0) * l.m11;
    let y = (a.column(1) - x * l.m21) * l.m22;
    let z = (a.column(2) - x * l.m31 - y * l.m32) * l.m33;
    Matrix3::from_columns(&[x, y, z])
}

#[inline]
fn solve_lower(l: &Matrix3<f64>, b: Vector3<f64>) -> Vector3<f64> {
    let x = b.x * l.m11;
    let y = (b.y - l.m21 * x) * l.m22;
    let z = (b.z - l.m31 * x - l.m32 * y) * l.m33;
    Vector3::new(x, y, z)
}

#[inline]
fn solve_upper(l: &Matrix3<f64>, b: Vector3<f64>) -> Vector3<f64> {
    let z = b.z * l.m33;
    let y = (b.y - l.m32 * z) * l.m22;
    let x = (b.x - l.m21 * y - l.m31 * z) * l.m11;
    Vector3::new(x, y, z)
}

#[inline]
fn inverse_lower(l: &Matrix3<f64>) -> Matrix3<f64> {
    let (a, b, c) = (l.m11, l.m22, l.m33);
    let d = -l.m21 * a * b;
    let e = -(l.m31 * a + l.m32 * d) * c;
    let f = -l.m32 * b * c;
    Matrix3::new(a, 0.0, 0.0, d, b, 0.0, e, f, c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::DMatrix;
    use proptest::prelude::*;

    /// A random positive definite block matrix with a chain and some ties.
    fn network(
        count: usize,
        ties: &[(usize, usize)],
        seed: &[f64],
    ) -> (Vec<(usize, usize)>, DMatrix<f64>) {
        let chain = (1..count).map(|n| (n - 1, n));
        let ties = ties.iter().map(|&(a, b)| (a % count, b % count)).filter(|(a, b)| a != b);
        let edges: Vec<_> = chain.chain(ties).collect();
        let mut a = DMatrix::identity(3 * count, 3 * count);
        for (at, &(i, j)) in edges.iter().enumerate() {
            let part = |k: usize| seed[(at * 3 + k) % seed.len()];
            let v = [part(0), part(1), part(2)];
            for r in 0..3 {
                for c in 0..3 {
                    let g = v[r] * v[c] + f64::from(u8::from(r == c));
                    a[(3 * i + r, 3 * i + c)] += g;
                    a[(3 * j + r, 3 * j + c)] += g;
                    a[(3 * i + r, 3 * j + c)] -= g;
                    a[(3 * j + r, 3 * i + c)] -= g;
                }
            }
        }
        (edges, a)
    }

    fn dense_block(a: &DMatrix<f64>, i: usize, j: usize) -> Matrix3<f64> {
        a.fixed_view::<3, 3>(3 * i, 3 * j).into_owned()
    }

    proptest! {
        #[test]
        fn sparse_inverse_and_solution_equal_the_dense_ones(
            count in 2..14usize,
            ties in prop::collection::vec((0..14usize, 0..14usize), 0..8),
            seed in prop::collection::vec(-2.0..2.0_f64, 9..30),
        ) {
            let (edges, a) = network(count, &ties, &seed);
            let pattern = Pattern::of(count, &edges);
            let mut factor = Blocks::zero(&pattern);
            for node in 0..count {
                factor.diagonal[pattern.place_of[node]] = dense_block(&a, node, node);
            }
            for &(i, j) in &edges {
                let (at, transposed) = pattern.block(i, j);
                let (i, j) = if transposed { (j, i) } else { (i, j) };
                factor.below[at] = dense_block(&a, i, j);
            }
            prop_assert!(pattern.factorise(&mut factor));
            let dense = a.clone().try_inverse().unwrap();
            let z = pattern.inverse(&factor);
            for node in 0..count {
                let error = z.diagonal[pattern.place_of[node]] - dense_block(&dense, node, node);
                prop_assert!(error.norm() < 1e-9);
            }
            for &(i, j) in &edges {
                let (at, transposed) = pattern.block(i, j);
                let (i, j) = if transposed { (j, i) } else { (i, j) };
                prop_assert!((z.below[at] - dense_block(&dense, i, j)).norm() < 1e-9);
            }
            let mut x: Vec<_> = (0..count).map(|n| Vector3::new(n as f64, 1.0, -0.5)).collect();
            let b = nalgebra::DVector::from_iterator(3 * count, x.iter().flat_map(|v| [v.x, v.y, v.z]));
            pattern.solve(&factor, &mut x);
            let dense_x = dense * b;
            for node in 0..count {
                prop_assert!((x[node].y - dense_x[3 * node + 1]).abs() < 1e-9);
            }
        }
    }
}
