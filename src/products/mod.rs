//! An analysis drawn, printed and packed: figures, report, exports, field sheets.

pub mod export;
pub mod figure;
pub mod fonts;
pub mod png;
pub mod report;
pub mod scene;
pub mod sheet;
pub mod tables;
pub mod xml;
