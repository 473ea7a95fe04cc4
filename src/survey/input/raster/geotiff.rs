//! GeoTIFF: one band of integers or floats, in strips or tiles, plain, deflate, LZW or `PackBits`.

use super::{
    DAMAGED, EXPECTED, EXPECTED_SYSTEM, MOST_CELLS, REPROJECT, Refused, cells, refused, sides,
    system,
};
use crate::survey::elevations::{ElevationRaster, PlanSystem};
use std::io::Cursor;
use std::sync::Arc;
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::{ByteOrder, Tag};
use tiff::{ColorType, TiffError};

type Reader<'b> = Decoder<Cursor<&'b [u8]>>;

/// Keys of the directory (OGC 19-008r4, annex B): the kind of system, the place of a cell's
/// coordinates, the geographic and the projected system, and the unit of elevations.
const MODEL: u16 = 1024;
const RASTER: u16 = 1025;
const GEOGRAPHIC: u16 = 2048;
const PROJECTED: u16 = 3072;
const VERTICAL_UNIT: u16 = 4099;
/// Values of those keys.
const MODEL_PROJECTED: u16 = 1;
const MODEL_GEOGRAPHIC: u16 = 2;
const RASTER_POINT: u16 = 2;
const METRE: u16 = 9001;
const USER_DEFINED: u16 = 32767;
/// The types of whole numbers in a directory.
const SHORT: u16 = 3;
const LONG: u16 = 4;
/// Where GDAL keeps scales and offsets of samples, as XML.
const GDAL_METADATA: Tag = Tag::Unknown(42112);

/// Whether the bytes begin as TIFF or `BigTIFF` does.
pub(super) fn is_tiff(bytes: &[u8]) -> bool {
    [b"II\x2a\0", b"MM\0\x2a", b"II\x2b\0", b"MM\0\x2b"].iter().any(|mark| bytes.starts_with(*mark))
}

pub(super) fn read(mut bytes: Vec<u8>) -> Result<ElevationRaster, Refused> {
    let mut reader = opened(&bytes)?;
    let (columns, rows) = reader.dimensions().map_err(|error| trouble(&error))?;
    let size = [columns as usize, rows as usize];
    let count = cells(size)?;
    if let (ChunkType::Tile, (width, _)) = (reader.get_chunk_type(), reader.chunk_dimensions()) {
        let whole = columns.checked_next_multiple_of(width).unwrap_or(columns);
        let (directory, order) = (reader.ifd_pointer(), reader.byte_order());
        widen(&mut bytes, directory.map_or(0, |at| at.0), order, whole);
        reader = opened(&bytes)?;
    }
    let keys = keys(&mut reader);
    let system = named_system(&mut reader, &keys)?;
    let [first, to_column, to_row] = placed(&mut reader, &keys)?;
    in_metres(&mut reader, &keys)?;
    let elevations = Arc::new(elevations(&mut reader, size, count)?);
    Ok(ElevationRaster { system, size, first, to_column, to_row, elevations })
}

fn opened(bytes: &[u8]) -> Result<Reader<'_>, Refused> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MOST_CELLS * size_of::<f64>();
    limits.intermediate_buffer_size = limits.decoding_buffer_size;
    let reader = Decoder::new(Cursor::new(bytes)).map_err(|error| trouble(&error))?;
    Ok(reader.with_limits(limits))
}

/// States in the directory at `directory` that the image is `width` columns wide, so that no tile
/// is cut: now and then the reader loses the end of an LZW tile of which it drops columns.
fn widen(bytes: &mut [u8], directory: u64, order: ByteOrder, width: u32) -> Option<()> {
    let is_big = bytes.get(2..4)?.contains(&0x2b);
    let (count, entry, value) = if is_big { (8, 20, 12) } else { (2, 12, 8) };
    let first = usize::try_from(directory).ok()?.checked_add(count)?;
    let is_little = order == ByteOrder::LittleEndian;
    let word = |at: usize| -> Option<u16> {
        let word = [*bytes.get(at)?, *bytes.get(at + 1)?];
        Some(if is_little { u16::from_le_bytes(word) } else { u16::from_be_bytes(word) })
    };
    let width_of_image = Some(Tag::ImageWidth.to_u16());
    let at = (first..bytes.len()).step_by(entry).find(|at| word(*at) == width_of_image)?;
    let stated = match word(at + 2)? {
        SHORT => {
            let width = u16::try_from(width).ok()?;
            (if is_little { width.to_le_bytes() } else { width.to_be_bytes() }).to_vec()
        }
        LONG => (if is_little { width.to_le_bytes() } else { width.to_be_bytes() }).to_vec(),
        _ => return None,
    };
    bytes.get_mut(at + value..at + value + stated.len())?.copy_from_slice(&stated);
    Some(())
}

fn trouble(error: &TiffError) -> Refused {
    let (found, hint) = match error {
        TiffError::UnsupportedError(what) => {
            (format!("a TIFF that is not read: {what}"), "save it again with deflate or LZW")
        }
        TiffError::LimitsExceeded => ("parts larger than any raster needs".to_owned(), DAMAGED),
        what => (format!("a TIFF that breaks off or is damaged: {what}"), DAMAGED),
    };
    Refused { found, expected: EXPECTED, hint }
}

/// The keys that stand in the directory itself, with their values.
fn keys(reader: &mut Reader<'_>) -> Vec<(u16, u16)> {
    let words = reader.get_tag_u16_vec(Tag::GeoKeyDirectoryTag).unwrap_or_default();
    let entries = words.chunks_exact(4).skip(1);
    entries.filter(|entry| entry[1] == 0).map(|entry| (entry[0], entry[3])).collect()
}

fn value(keys: &[(u16, u16)], key: u16) -> Option<u16> {
    keys.iter().find(|(known, _)| *known == key).map(|(_, value)| *value)
}

fn named_system(reader: &mut Reader<'_>, keys: &[(u16, u16)]) -> Result<PlanSystem, Refused> {
    let code = match value(keys, MODEL) {
        Some(MODEL_PROJECTED) => value(keys, PROJECTED),
        Some(MODEL_GEOGRAPHIC) => value(keys, GEOGRAPHIC),
        _ => {
            let hint = "give it its reference system in a map program, and save it as GeoTIFF";
            return refused("a TIFF without a reference system", EXPECTED_SYSTEM, hint);
        }
    };
    match code {
        Some(code) if code != USER_DEFINED => system::of_epsg(code),
        _ => {
            let names = reader.get_tag_ascii_string(Tag::GeoAsciiParamsTag).unwrap_or_default();
            let name = names.split('|').find(|name| !name.trim().is_empty()).unwrap_or("unnamed");
            system::other(name)
        }
    }
}

/// The centre of the first cell, and the steps to the next column and the next row.
fn placed(reader: &mut Reader<'_>, keys: &[(u16, u16)]) -> Result<[[f64; 2]; 3], Refused> {
    let mut numbers = |tag| reader.get_tag_f64_vec(tag).unwrap_or_default();
    let scale = numbers(Tag::ModelPixelScaleTag);
    let tie = numbers(Tag::ModelTiepointTag);
    let matrix = numbers(Tag::ModelTransformationTag);
    let (corner, to_column, to_row) = match (scale.as_slice(), tie.as_slice(), matrix.as_slice()) {
        ([width, height, ..], [column, row, _, x, y, _], _) => {
            let [width, height] = sides([*width, *height])?;
            ([x - column * width, y + row * height], [width, 0.0], [0.0, -height])
        }
        (_, _, [a, b, _, x, c, d, _, y, ..]) => {
            sides([a * d - b * c])?;
            ([*x, *y], [*a, *c], [*b, *d])
        }
        _ => {
            let hint = "a map program saves it with its place";
            let found = "a TIFF that does not say where its cells lie";
            return refused(found, "the size of a cell and the place of one", hint);
        }
    };
    // coordinates of an area are those of its corner
    let half = if value(keys, RASTER) == Some(RASTER_POINT) { 0.0 } else { 0.5 };
    let first = [0, 1].map(|k| corner[k] + half * (to_column[k] + to_row[k]));
    Ok([first, to_column, to_row])
}

fn in_metres(reader: &mut Reader<'_>, keys: &[(u16, u16)]) -> Result<(), Refused> {
    if let Some(unit) = value(keys, VERTICAL_UNIT).filter(|unit| *unit != METRE) {
        return refused(format!("elevations in the unit EPSG:{unit}"), "metres", REPROJECT);
    }
    let metadata = reader.get_tag_ascii_string(GDAL_METADATA).unwrap_or_default();
    if metadata.contains("role=\"scale\"") || metadata.contains("role=\"offset\"") {
        return refused(
            "elevations with a scale or an offset",
            "metres",
            "a map program saves it as plain metres",
        );
    }
    Ok(())
}

/// All elevations, row by row.
fn elevations(
    reader: &mut Reader<'_>,
    [columns, rows]: [usize; 2],
    count: usize,
) -> Result<Vec<f64>, Refused> {
    match reader.colortype().map_err(|error| trouble(&error))? {
        ColorType::Gray(8..) => {}
        other => {
            let hint = "is this a picture of the ground, not its elevations?";
            return refused(format!("samples of the kind {other:?}"), "one elevation a cell", hint);
        }
    }
    let missing = reader.get_tag_ascii_string(Tag::GdalNodata).ok();
    let missing = missing.and_then(|text| text.trim_matches(['\0', ' ']).parse::<f64>().ok());
    let chunks = match reader.get_chunk_type() {
        ChunkType::Strip => reader.strip_count(),
        ChunkType::Tile => reader.tile_count(),
    };
    let chunks = chunks.map_err(|error| trouble(&error))?;
    let (width, height) = reader.chunk_dimensions();
    let (width, height) = (width.max(1) as usize, height.max(1) as usize);
    let across = columns.div_ceil(width);
    let mut elevations = vec![f64::NAN; count];
    for chunk in 0..chunks {
        let at = chunk as usize;
        let (left, top) = (at % across * width, at / across * height);
        let wide = reader.chunk_data_dimensions(chunk).0 as usize;
        let samples = samples(reader.read_chunk(chunk).map_err(|error| trouble(&error))?);
        for (line, row) in samples.chunks_exact(wide.max(1)).zip(top..rows) {
            let from = row * columns + left;
            let own = elevations.get_mut(from..from + wide.min(columns - left));
            own.into_iter().flatten().zip(line).for_each(|(z, sample)| *z = *sample);
        }
    }
    if let Some(missing) = missing {
        // written with fewer digits than the samples have
        let is_missing = |z: &f64| (z - missing).abs() <= 1e-7 * missing.abs();
        elevations.iter_mut().filter(|z| is_missing(z)).for_each(|z| *z = f64::NAN);
    }
    Ok(elevations)
}

fn samples(decoded: DecodingResult) -> Vec<f64> {
    match decoded {
        DecodingResult::U8(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::U16(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::U32(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::U64(all) => all.into_iter().map(|z| z as f64).collect(),
        DecodingResult::I8(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::I16(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::I32(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::I64(all) => all.into_iter().map(|z| z as f64).collect(),
        DecodingResult::F16(all) => all.into_iter().map(|z| z.to_f64()).collect(),
        DecodingResult::F32(all) => all.into_iter().map(f64::from).collect(),
        DecodingResult::F64(all) => all,
    }
}
