//! Places and boxes on a page, millimetres from its upper left corner.

/// A place on the page: right, down.
pub(in crate::products::figure) type Spot = [f64; 2];

/// A box on the page, its upper left and lower right corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::products::figure) struct Area {
    pub(in crate::products::figure) left: f64,
    pub(in crate::products::figure) top: f64,
    pub(in crate::products::figure) right: f64,
    pub(in crate::products::figure) bottom: f64,
}

impl Area {
    pub(in crate::products::figure) fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }

    pub(in crate::products::figure) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(in crate::products::figure) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    pub(in crate::products::figure) fn middle(&self) -> Spot {
        [0.5 * (self.left + self.right), 0.5 * (self.top + self.bottom)]
    }

    pub(in crate::products::figure) fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(in crate::products::figure) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && other.right <= self.right
            && self.top <= other.top
            && other.bottom <= self.bottom
    }

    pub(in crate::products::figure) fn grown(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }
}
