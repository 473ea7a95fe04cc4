//! Dots as a PNG (Portable Network Graphics, W3C Recommendation).
//!
//! In: rows of dots in red, green and blue. Out: the bytes of a file. Left out: what the dots show.

use png::{
    BitDepth, ColorType, DeflateCompression, Encoder, EncodingError, Filter, PixelDimensions, Unit,
};
use std::io::Write;

/// Of lines on paper, repeated rows, a little work takes out nearly as much as all of it does.
const EFFORT: DeflateCompression = DeflateCompression::Level(2);

/// A PNG of `wide` × `high` dots in rows from above, three bytes a dot, through which nothing is
/// seen; where it says how many dots a metre has, a page sets it at its size.
///
/// # Errors
/// Where there are no dots, or not as many as there should be.
pub fn png(
    rows: impl Iterator<Item: AsRef<[u8]>>,
    [wide, high]: [u32; 2],
    dots_a_metre: Option<u32>,
) -> Result<Vec<u8>, EncodingError> {
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, wide, high);
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_deflate_compression(EFFORT);
    encoder.set_filter(Filter::NoFilter); // lines repeat: differences of dots would hide it
    encoder.set_pixel_dims(dots_a_metre.map(|dots| PixelDimensions {
        xppu: dots,
        yppu: dots,
        unit: Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    let mut packed = writer.stream_writer()?;
    for row in rows {
        packed.write_all(row.as_ref())?;
    }
    packed.finish()?;
    writer.finish()?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use png::Decoder;
    use std::io::Cursor;

    #[test]
    fn dots_and_their_size_are_read_back() {
        let dots: Vec<u8> = (0..3 * 5 * 2).map(|at| at * 8).collect();
        let file = png(dots.chunks(15), [5, 2], Some(11_811)).unwrap();
        let mut reader = Decoder::new(Cursor::new(&file)).read_info().unwrap();
        let mut read = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut read).unwrap();
        assert_eq!(read, dots);
        let info = reader.info();
        assert_eq!((info.width, info.height, info.color_type), (5, 2, ColorType::Rgb));
        let size = info.pixel_dims.unwrap();
        assert_eq!((size.xppu, size.yppu, size.unit), (11_811, 11_811, Unit::Meter));
    }

    #[test]
    fn too_few_dots_and_too_many_are_an_error() {
        let rows = [[0; 15]; 3];
        assert!(png(rows[..2].iter(), [5, 2], None).is_ok());
        assert!(png(rows[..1].iter(), [5, 2], None).is_err());
        assert!(png(rows.iter(), [5, 2], None).is_err());
        assert!(png(rows[..0].iter(), [0, 0], None).is_err());
    }
}
