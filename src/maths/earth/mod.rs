//! The earth: its ellipsoid, a local frame on it, and which way north is.
//!
//! In: geodetic positions (WGS 84) and dates. Out: local east, north and up in metres; the
//! declination of the geomagnetic reference field; the convergence of the UTM grid.
//! Assumes heights above the ellipsoid and above the sea to be the same: 50 m change a declination
//! by less than 0.0001°. Left out: local anomalies of the field, which no model knows.
//! Sources: [`Source::Epsg2019`], [`Source::Igrf14`], [`Source::Karney2011`].
//!
//! [`Source::Epsg2019`]: crate::survey::sources::Source::Epsg2019
//! [`Source::Igrf14`]: crate::survey::sources::Source::Igrf14
//! [`Source::Karney2011`]: crate::survey::sources::Source::Karney2011

mod coefficients;
pub mod convergence;
pub mod declination;
pub mod ellipsoid;
pub mod frame;
