//! Workbooks spoilt by what they are made of: the elements of the XML in them, their attributes and
//! texts, and the parts of the package. By number, as surveys are.

use super::dice::Dice;
use super::spoil::Files;
use rust_xlsxwriter::Workbook;
use std::collections::BTreeMap;
use std::io::{self, Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// The parts of a workbook by name.
pub(crate) type Parts = BTreeMap<String, Vec<u8>>;

/// What stands where an attribute or a text should: places, numbers, kinds, names of both formats.
const VALUES: [&str; 64] = [
    "",
    " ",
    "0",
    "1",
    "-1",
    "1.5",
    "3",
    "14",
    "22",
    "99999999",
    "1000000000",
    "4294967296",
    "18446744073709551614",
    "18446744073709551615",
    "18446744073709551616",
    "1e308",
    "1E999",
    "-1e308",
    "NaN",
    "inf",
    "2958466",
    "0.99999999999",
    "A1",
    "A0",
    "B2",
    "ZZ1",
    "XFD1048576",
    "A18446744073709551615",
    "ZZZZZZZZZZZZZ18446744073709551615",
    "a1",
    "A1:B2",
    "B2:A1",
    "A1:XFD1048576",
    "A1:ZZZZZZZZZZZZZ18446744073709551615",
    "A1:B2:C3",
    "s",
    "n",
    "b",
    "e",
    "d",
    "str",
    "inlineStr",
    "float",
    "string",
    "date",
    "time",
    "boolean",
    "percentage",
    "true",
    "1899-12-30",
    "1899-13-45",
    "-999999-01-01T00:00:00",
    "2025-09-06T21:11:00.123456789",
    "PT21H11M",
    "PT99999999999999999999H",
    "-P1Y2M3DT4H5M6.7S",
    "rId1",
    "rId99",
    "../../x",
    "/xl/workbook.xml",
    "anchors",
    "ties",
    "yyyy-mm-dd",
    "#DIV/0!",
];

/// What is put among the elements of a part.
const ELEMENTS: [&str; 30] = [
    "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row>",
    "<row r=\"18446744073709551615\"/><row><c><v>1</v></c></row>",
    "<row><c/><c t=\"s\"/><c t=\"s\"><v>0</v><v>1</v></c></row>",
    "<c r=\"C2\" t=\"s\"><v>99999</v></c>",
    "<c r=\"C2\" t=\"inlineStr\"><is><t>4</t><r><t>.5</t></r><rPh><t>x</t></rPh></is></c>",
    "<c t=\"d\"><v>2025-09-06T21:11:00Z</v></c>",
    "<c s=\"18446744073709551615\"><v>45000.5</v></c>",
    "<c><f>1+1</f></c>",
    "<mergeCell ref=\"A1:D4\"/>",
    "<mergeCell ref=\"A1:XFD1048576\"/>",
    "<mergeCells count=\"-1\"><mergeCell/><mergeCell ref=\"1:A\"/></mergeCells>",
    "<sheet name=\"anchors\" id=\"rId1\"/>",
    "<sheet name=\"ties\" r:id=\"rId77\"/>",
    "<si/><si><t>x</t></si>",
    "<numFmt numFmtId=\"0\" formatCode=\"yyyy\"/>",
    "<workbookPr date1904=\"1\"/>",
    "<table:table-cell table:number-columns-repeated=\"1000000000\"/>",
    "<table:table-cell table:number-columns-repeated=\"18446744073709551615\" \
     office:value-type=\"float\" office:value=\"1\"/>",
    "<table:table-row table:number-rows-repeated=\"18446744073709551615\"/>",
    "<table:covered-table-cell/>",
    "<table:table table:name=\"ties\"><table:table-row/></table:table>",
    "<text:p>a<text:s text:c=\"4000000000\"/><text:tab/><text:line-break/>b</text:p>",
    "<office:annotation><text:p>x</text:p>",
    "<!-- -- -->",
    "<![CDATA[<row>]]>",
    "<!DOCTYPE a [<!ENTITY b \"bbbbbbbbbb\"><!ENTITY c \"&b;&b;&b;\">]>",
    "&c;",
    "&#0;&#xD800;&#x110000;",
    "<?xml version=\"1.1\" encoding=\"utf-16\"?>",
    "<",
];

/// The same tables as an `.xlsx` and as an `.ods` workbook, taken apart.
pub(crate) fn workbooks(sound: &Files) -> io::Result<[Parts; 2]> {
    let mut book = Workbook::new();
    let mut tables = String::new();
    for (name, bytes) in sound {
        let Some(table) = name.strip_suffix(".csv") else { continue };
        let sheet = book.add_worksheet().set_name(table).map_err(io::Error::other)?;
        tables += &format!("<table:table table:name=\"{table}\">");
        for (row, line) in (0_u32..).zip(String::from_utf8_lossy(bytes).lines()) {
            tables += "<table:table-row>";
            for (column, cell) in (0_u16..).zip(line.split(',')) {
                let written = match cell.parse::<f64>() {
                    Ok(number) => sheet.write_number(row, column, number),
                    Err(_) => sheet.write_string(row, column, cell),
                };
                written.map_err(io::Error::other)?;
                tables += &of_ods(cell);
            }
            tables += "</table:table-row>";
        }
        tables += "</table:table>";
    }
    let packed = book.save_to_buffer().map_err(io::Error::other)?;
    let ods = [
        (
            "META-INF/manifest.xml",
            "<manifest:manifest xmlns:manifest=\"m\"><manifest:file-entry \
             manifest:full-path=\"/\" \
             manifest:media-type=\"application/vnd.oasis.opendocument.spreadsheet\"/>\
             </manifest:manifest>"
                .to_owned(),
        ),
        (
            "content.xml",
            format!(
                "<office:document-content xmlns:office=\"o\" xmlns:table=\"t\" xmlns:text=\"x\">\
                 <office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>\
                 </office:document-content>"
            ),
        ),
    ];
    let ods = ods.map(|(name, text)| (name.to_owned(), text.into_bytes()));
    Ok([taken_apart(&packed)?, Parts::from(ods)])
}

fn of_ods(cell: &str) -> String {
    let kind = match cell.parse::<f64>() {
        Ok(number) => format!("office:value-type=\"float\" office:value=\"{number}\""),
        Err(_) => "office:value-type=\"string\"".to_owned(),
    };
    let text = cell.replace('&', "&amp;").replace('<', "&lt;");
    if cell.is_empty() {
        "<table:table-cell/>".to_owned()
    } else {
        format!("<table:table-cell {kind}><text:p>{text}</text:p></table:table-cell>")
    }
}

fn taken_apart(packed: &[u8]) -> io::Result<Parts> {
    let mut archive = ZipArchive::new(Cursor::new(packed)).map_err(io::Error::other)?;
    let mut parts = Parts::new();
    for at in 0..archive.len() {
        let mut part = archive.by_index(at).map_err(io::Error::other)?;
        let mut bytes = Vec::new();
        part.read_to_end(&mut bytes)?;
        parts.insert(part.name().map_err(io::Error::other)?.into_owned(), bytes);
    }
    Ok(parts)
}

fn packed(parts: &Parts) -> io::Result<Vec<u8>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, bytes) in parts {
        zip.start_file(name.as_str(), stored).map_err(io::Error::other)?;
        zip.write_all(bytes)?;
    }
    Ok(zip.finish().map_err(io::Error::other)?.into_inner())
}

/// The sound `.xlsx` workbook.
pub(crate) fn workbook(sound: &[Parts; 2]) -> io::Result<Vec<u8>> {
    packed(&sound[0])
}

/// One of the workbooks with its elements spoilt once to four times, and how.
pub(crate) fn spoilt_workbook(sound: &[Parts; 2], number: u64) -> io::Result<(Files, Vec<String>)> {
    let mut dice = Dice::of(number);
    let which = dice.below(sound.len());
    let mut parts = sound[which].clone();
    let how = (0..=dice.below(4)).map(|_| dice.spoil_part(&mut parts)).collect();
    let name = ["survey.xlsx", "survey.ods"][which];
    Ok((Files::from([(name.to_owned(), packed(&parts)?)]), how))
}

/// Where a tag of XML begins and ends.
type Mark = (usize, usize);

fn marks(text: &str) -> Vec<Mark> {
    let starts = text.match_indices('<').map(|(at, _)| at);
    starts.filter_map(|at| Some((at, at + text.get(at..)?.find('>')? + 1))).collect()
}

impl Dice {
    fn spoil_part(&mut self, parts: &mut Parts) -> String {
        let names: Vec<String> = parts.keys().cloned().collect();
        if names.is_empty() {
            return "nothing is left".into();
        }
        // Most harm comes to what is read: sheets, their list, shared texts, styles.
        let read = |name: &&String| {
            name.contains("xl/") || name.contains("content.xml") || name.contains("rels")
        };
        let read: Vec<&String> = names.iter().filter(read).collect();
        let name = match self.below(8) {
            1.. if !read.is_empty() => read[self.below(read.len())].clone(),
            _ => names[self.below(names.len())].clone(),
        };
        let bytes = parts.remove(&name).unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        match self.below(40) {
            0 => format!("{name}: gone"),
            1 => {
                let other = names[self.below(names.len())].clone();
                parts.insert(other.clone(), bytes);
                format!("{name} in place of {other}")
            }
            _ => {
                let (how, text) = self.spoil_xml(text);
                parts.insert(name.clone(), text.into_bytes());
                format!("{name}: {how}")
            }
        }
    }

    fn spoil_xml(&mut self, mut text: String) -> (String, String) {
        let marks = marks(&text);
        if marks.is_empty() {
            return ("left alone".into(), text);
        }
        let (from, to) = marks[self.below(marks.len())];
        let tag = text[from..to].to_owned();
        match self.below(10) {
            0 => {
                text.replace_range(from..to, "");
                (format!("without {tag}"), text)
            }
            1 => {
                let (other, _) = marks[self.below(marks.len())];
                text.insert_str(other, &tag);
                (format!("{tag} at byte {other}"), text)
            }
            2 | 3 => {
                let element = self.one(&ELEMENTS);
                text.insert_str(to, element);
                (format!("{element} behind {tag}"), text)
            }
            4 => {
                let times = self.below(30_000);
                text.insert_str(to, &tag.repeat(times));
                (format!("{tag} {times} times more"), text)
            }
            5 => {
                let value = self.one(&VALUES);
                let end = text[to..].find('<').map_or(text.len(), |length| to + length);
                text.replace_range(to..end, value);
                (format!("{value:?} behind {tag}"), text)
            }
            _ => {
                let (how, spoilt) = self.attribute(&tag);
                text.replace_range(from..to, &spoilt);
                (format!("{tag}: {how}"), text)
            }
        }
    }

    /// A tag with one of its attributes changed, gone or another more.
    fn attribute(&mut self, tag: &str) -> (String, String) {
        let value = self.one(&VALUES);
        let quotes: Vec<usize> = tag.match_indices('"').map(|(at, _)| at).collect();
        let pairs = quotes.len() / 2;
        if pairs == 0 {
            let name = self.one(&["r", "t", "s", "id", "ref", "table:number-columns-repeated"]);
            let at = tag.find(['/', '>', ' ']).filter(|at| *at > 1).unwrap_or(tag.len() - 1);
            let mut tag = tag.to_owned();
            tag.insert_str(at, &format!(" {name}=\"{value}\""));
            return (format!("{name}={value:?}"), tag);
        }
        let at = 2 * self.below(pairs);
        let mut spoilt = tag.to_owned();
        if self.below(6) == 0 {
            let start = tag[..quotes[at]].rfind(' ').unwrap_or(quotes[at]);
            spoilt.replace_range(start..=quotes[at + 1], "");
            return ("an attribute gone".into(), spoilt);
        }
        spoilt.replace_range(quotes[at] + 1..quotes[at + 1], value);
        (format!("{value:?}"), spoilt)
    }
}
