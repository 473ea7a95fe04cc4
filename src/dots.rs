//! Dots as a PNG (Portable Network Graphics, W3C Recommendation).
//!
//! In: rows of dots in red, green and blue. Out: the bytes of a file. Left out: what the dots show.

use png::{
    BitDepth, ColorType, DeflateCompression, Encoder, EncodingError, Filter, PixelDimensions, Unit,
};

/// Of lines on paper, repeated rows, a little work takes out nearly as much as all of it does.
const EFFORT: DeflateCompression = DeflateCompression::Level(2);

/// A PNG of `wide` × `high` dots from the upper left, three bytes each, through which nothing is
/// seen; where it says how many dots a metre has, a page sets it at its size.
///
/// # Errors
/// Where there are no dots, or not as many bytes as they need.
pub fn png(
    dots: &[u8],
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
    writer.write_image_data(dots)?;
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
        let file = png(&dots, [5, 2], Some(11_811)).unwrap();
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
    fn too_few_dots_are_an_error() {
        assert!(png(&[0; 6], [5, 2], None).is_err());
        assert!(png(&[], [0, 0], None).is_err());
    }
}
