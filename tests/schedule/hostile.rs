//! Files that are broken or mean harm: each is read in a process of its own under a memory limit
//! (`ulimit -v`) and a time limit, and ends in bays or in one clear sentence.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests stop where they fail")]

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use baytally::finding::{Finding, Severity};
use baytally::schedule::{ReadOptions, read};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const MOST_KILOBYTES: u64 = 800_000;
const MOST_SECONDS: u64 = 60;

/// Reads the file named in the environment and prints what came of it; does nothing in an ordinary
/// run.
#[test]
fn child() {
    let Some(file) = std::env::var_os("HOSTILE_FILE") else { return };
    match read(Path::new(&file), &ReadOptions::default()) {
        Ok((job, findings)) => {
            println!("OUTCOME {} bays", job.bays.len());
            for finding in findings.iter().filter(|f| f.severity != Severity::Note).take(3) {
                say(finding);
            }
        }
        Err(unreadable) => {
            unreadable.findings.iter().take(3).for_each(say);
        }
    }
}

fn say(finding: &Finding) {
    for line in finding.to_string().lines() {
        println!("OUTCOME {line}");
    }
}

/// What comes of a file of these bytes, read under the limits.
#[track_caller]
fn outcome(name: &str, bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(name);
    std::fs::write(&file, bytes).unwrap();
    let limited = format!(
        "ulimit -v {MOST_KILOBYTES}; exec \"$0\" --exact schedule::hostile::child --nocapture \
         --test-threads 1"
    );
    let mut process = Command::new("sh")
        .args(["-c", &limited])
        .arg(std::env::current_exe().unwrap())
        .env("HOSTILE_FILE", &file)
        .env("RUST_BACKTRACE", "0")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let since = Instant::now();
    while process.try_wait().unwrap().is_none() {
        if since.elapsed() > Duration::from_secs(MOST_SECONDS) {
            process.kill().unwrap();
            panic!("{name}: still reading after {MOST_SECONDS} s");
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    let output = process.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    let outcome: Vec<&str> =
        said.lines().filter_map(|line| line.split_once("OUTCOME ")).map(|(_, l)| l).collect();
    assert!(
        output.status.success() && !outcome.is_empty(),
        "{name}: {:?}\n{said}\n{}",
        output.status,
        String::from_utf8_lossy(&output.stderr)
    );
    outcome.join("\n")
}

fn package(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(content).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

const RELATIONS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

/// A workbook with one sheet, of this XML, and other parts.
pub fn book(sheet: &[u8], others: &[(&str, &[u8])]) -> Vec<u8> {
    let package_relations = "http://schemas.openxmlformats.org/package/2006/relationships";
    let root = format!(
        "<Relationships xmlns=\"{package_relations}\"><Relationship Id=\"rId1\" \
         Type=\"{RELATIONS}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
    );
    let workbook = format!(
        "<workbook xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\" \
         xmlns:r=\"{RELATIONS}\"><sheets><sheet name=\"Bays\" sheetId=\"1\" \
         r:id=\"rId1\"/></sheets></workbook>"
    );
    let relations = format!(
        "<Relationships xmlns=\"{package_relations}\"><Relationship Id=\"rId1\" \
         Type=\"{RELATIONS}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
    );
    let mut parts: Vec<(&str, &[u8])> = vec![
        ("_rels/.rels", root.as_bytes()),
        ("xl/workbook.xml", workbook.as_bytes()),
        ("xl/_rels/workbook.xml.rels", relations.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet),
    ];
    parts.extend(others);
    package(&parts)
}

fn cells(row: usize, texts: &[&str]) -> String {
    let mut xml = format!("<row r=\"{row}\">");
    for (column, text) in texts.iter().enumerate() {
        let letter = char::from(b'A' + u8::try_from(column).unwrap());
        write!(xml, "<c r=\"{letter}{row}\" t=\"inlineStr\"><is><t>{text}</t></is></c>").unwrap();
    }
    xml + "</row>"
}

const HEADINGS: [&str; 5] = ["Level", "Bay", "Profile", "Spans", "Width"];
const BAY: [&str; 5] = ["2", "A1", "3x12", "3@10'", "31'"];

/// A sheet with a good bay, these rows behind it and this behind the cells.
pub fn sheet(rows: &str, behind: &str) -> Vec<u8> {
    format!(
        "<worksheet><sheetData>{}{}{rows}</sheetData>{behind}</worksheet>",
        cells(1, &HEADINGS),
        cells(2, &BAY)
    )
    .into_bytes()
}

#[track_caller]
fn starts(outcome: &str, expected: &str) {
    assert!(outcome.starts_with(expected), "{outcome}\nwanted {expected}");
}

#[test]
fn stray_cells_far_away() {
    for (row, column) in [(1_048_576, "XFD"), (1_048_576, "A"), (3, "XFD")] {
        let far = format!("<row r=\"{row}\"><c r=\"{column}{row}\"><v>1</v></c></row>");
        starts(&outcome("far.xlsx", &book(&sheet(&far, ""), &[])), "1 bays");
    }
    // One with a value, one of which only the look is kept.
    for cell in ["<c r=\"A4000000000\"><v>1</v></c>", "<c r=\"A4000000000\" s=\"1\"/>"] {
        let off = format!("<row r=\"4000000000\">{cell}</row>");
        let said = outcome("off.xlsx", &book(&sheet(&off, ""), &[]));
        starts(&said, "1 bays");
        let damaged = "Bays!E2: error[damaged-sheet]: `Bays` is damaged behind this cell";
        assert!(said.contains(damaged), "{said}");
    }
}

#[test]
fn false_dimension_and_numbers() {
    let xml = String::from_utf8(sheet("", "")).unwrap();
    let xml = xml.replace("<sheetData>", "<dimension ref=\"A1:XFD1048576\"/><sheetData>");
    starts(&outcome("dimension.xlsx", &book(xml.as_bytes(), &[])), "1 bays");
    let texts = b"<sst count=\"1\" uniqueCount=\"4000000000\"><si><t>a</t></si></sst>";
    let said =
        outcome("texts.xlsx", &book(&sheet("", ""), &[("xl/sharedStrings.xml", &texts[..])]));
    starts(
        &said,
        "texts.xlsx: error[no-workbook]: `texts.xlsx` has a part `xl/sharedStrings.xml` with \
         4000000000 texts announced in 63 bytes",
    );
    let shared = "<row r=\"3\"><c r=\"A3\"><f t=\"shared\" si=\"4294967295\" ref=\"A3:A9\">1+1</f>\
                  <v>2</v></c></row>";
    starts(&outcome("shared.xlsx", &book(&sheet(shared, ""), &[])), "1 bays");
}

#[test]
fn bombs() {
    let value = "x".repeat(64 << 20);
    let xml = sheet(&format!("<row r=\"3\"><c r=\"A3\" t=\"str\"><v>{value}</v></c></row>"), "");
    let said = outcome("value.xlsx", &book(&xml, &[]));
    starts(
        &said,
        "Bays: error[over-limit]: the workbook has a part `xl/worksheets/sheet1.xml` with one \
         value of more than 262144 bytes",
    );
    for (name, content) in [
        ("tag.xlsx", format!("<row r=\"3\" x=\"{value}\"/>")),
        ("comment.xlsx", format!("<!-- {} -->", value.replace('x', "<"))),
        ("data.xlsx", format!("<![CDATA[{}]]>", value.replace('x', "<"))),
    ] {
        let said = outcome(name, &book(&sheet(&content, ""), &[]));
        assert!(
            said.contains("error[over-limit]") && said.contains("of more than 262144 bytes"),
            "{name}: {said}"
        );
    }
    let entities = "<!DOCTYPE x [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]>";
    let mut xml = entities.as_bytes().to_vec();
    xml.extend(sheet("", ""));
    let said = outcome("entities.xlsx", &book(&xml, &[]));
    assert!(said.contains("with a document type, which no workbook has"), "{said}");
}

#[test]
fn millions_of_rows_texts_and_styles() {
    let mut rows = String::new();
    for row in 3..=2_000_000 {
        write!(rows, "<row r=\"{row}\"/>").unwrap();
    }
    starts(&outcome("rows.xlsx", &book(&sheet(&rows, ""), &[])), "1 bays");
    rows.clear();
    for row in 3..600_000 {
        write!(rows, "<row r=\"{row}\"><c r=\"F{row}\"><v>1</v></c></row>").unwrap();
    }
    let said = outcome("filled.xlsx", &book(&sheet(&rows, ""), &[]));
    starts(
        &said,
        "Bays: error[over-limit]: the workbook has more than 500000 rows with content: the limit \
         is reached in row 500001 of `Bays`, at most so much is read",
    );
    let texts = format!("<sst>{}</sst>", "<si><t>a</t></si>".repeat(5_000_000));
    let said =
        outcome("texts.xlsx", &book(&sheet("", ""), &[("xl/sharedStrings.xml", texts.as_bytes())]));
    assert!(said.contains("bytes unpacked, at most 67108864 are read"), "{said}");
    let styles =
        format!("<styleSheet><cellXfs>{}</cellXfs></styleSheet>", "<xf/>".repeat(1_000_000));
    let said =
        outcome("styles.xlsx", &book(&sheet("", ""), &[("xl/styles.xml", styles.as_bytes())]));
    assert!(said.contains("more than 419430 tags where few belong"), "{said}");
    let mut wide = String::new();
    for row in 3..400_000 {
        write!(wide, "<row r=\"{row}\"><c r=\"SR{row}\"><v>1</v></c></row>").unwrap();
    }
    starts(&outcome("wide.xlsx", &book(&sheet(&wide, ""), &[])), "1 bays");
}

#[test]
fn archives_that_lie() {
    let good = book(&sheet("", ""), &[]);
    // The size that the central directory states for the last part, made too small and too large.
    let at = good.windows(4).rposition(|four| four == [0x50, 0x4b, 1, 2]).unwrap();
    for size in [10_u32, 2_000_000_000, u32::MAX] {
        let mut bytes = good.clone();
        bytes[at + 24..at + 28].copy_from_slice(&size.to_le_bytes());
        let said = outcome("lie.xlsx", &bytes);
        assert!(said.contains("error["), "{size}: {said}");
    }
    let names: Vec<String> = (0..20_000).map(|number| format!("xl/{number}.xml")).collect();
    let parts: Vec<(&str, &[u8])> = names.iter().map(|name| (&**name, &b""[..])).collect();
    let said = outcome("parts.xlsx", &package(&parts));
    starts(&said, "parts.xlsx: error[over-limit]: `parts.xlsx` has 20000 parts, at most 10000");
    for cut in [4, 30, good.len() / 2, good.len() - 10] {
        starts(&outcome("cut.xlsx", &good[..cut]), "cut.xlsx: error[no-workbook]: `cut.xlsx` is");
    }
    let said = outcome("other.docx", &package(&[("word/document.xml", b"<w/>")]));
    starts(
        &said,
        "other.docx: error[no-workbook]: `other.docx` is an archive, but no workbook\n  hint",
    );
}

#[test]
fn what_is_no_workbook() {
    for (name, bytes, why) in [
        ("empty.xlsx", &b""[..], "is empty"),
        ("text.xlsx", b"Level,Bay,Spans\n2,A1,10'\n", "is text, no workbook"),
        ("page.xls", b"<html><table></table></html>", "is a page or XML, no workbook"),
        ("noise.xls", b"\x00\x01\x02\x03\x04", "is no workbook"),
    ] {
        let said = outcome(name, bytes);
        starts(&said, &format!("{name}: error[no-workbook]: `{name}` {why}"));
    }
    let folder = tempfile::tempdir().unwrap();
    let said = read(folder.path(), &ReadOptions::default()).unwrap_err().to_string();
    assert!(said.ends_with("is a folder, wanted a workbook"), "{said}");
    let said = read(&folder.path().join("none.xlsx"), &ReadOptions::default()).unwrap_err();
    assert!(said.to_string().contains("can not be opened"), "{said}");
}

#[test]
fn strange_cells_are_said_with_their_place() {
    let rows = [
        "<row r=\"3\"><c r=\"A3\"><v>2</v></c><c r=\"B3\"><v>3</v></c><c r=\"C3\" t=\"str\"><v>3x12\
         </v></c><c r=\"D3\" t=\"e\"><v>#SPILL!</v></c><c r=\"E3\"><v>31</v></c></row>",
        "<row r=\"4\"><c r=\"A4\"><v>2</v></c><c r=\"B4\"><v>4</v></c><c r=\"C4\" t=\"str\"><v>3x12\
         </v></c><c r=\"D4\"><v>1e999</v></c><c r=\"E4\" t=\"n\"><v>3,5</v></c></row>",
        "<row r=\"5\"><c r=\"A5\"><v>2</v></c><c r=\"B5\"><v>5</v></c><c r=\"C5\" t=\"str\"><v>3x12\
         </v></c><c r=\"D5\"><v>10</v></c><c r=\"E5\"><f>B5*2</f></c></row>",
        "<row r=\"6\"><c r=\"A6\"><v>2</v></c><c r=\"B6\"><v>6</v></c><c r=\"C6\" t=\"str\"><v>3x12\
         </v></c><c r=\"D6\"><v>10</v></c><c r=\"E6\" t=\"zz\"><v>7</v></c></row>",
    ];
    let said = outcome("strange.xlsx", &book(&sheet(&rows.concat(), ""), &[]));
    starts(
        &said,
        "1 bays\nBays!D3: error[error-cell]: `Spans` holds the spreadsheet's error #SPILL!\n  \
         hint: put the formula right, or type the value\nBays!D4: error[damaged-cell]: `Spans` \
         holds what is no cell value: inf",
    );
    let options = ReadOptions::default();
    let bytes = book(&sheet(&rows.concat(), ""), &[]);
    let (_, findings) = baytally::schedule::read_bytes(bytes, "strange.xlsx", &options).unwrap();
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    for expected in [
        "Bays!E4: error[damaged-cell]: `Width` holds what is no cell value: `3,5`",
        "Bays!E5: error[formula-without-result]: `Width` holds the formula `=B5*2` without a result",
        "Bays!E6: error[damaged-cell]: `Width` holds what is no cell value: `7`",
    ] {
        assert!(said.iter().any(|finding| finding.starts_with(expected)), "{expected}\n{said:#?}");
    }
}

#[test]
fn merges_and_hidden_rows_by_the_million() {
    let mut merges = String::from("<mergeCells>");
    for row in 2..120_000 {
        write!(merges, "<mergeCell ref=\"A{row}:A1000000\"/>").unwrap();
    }
    merges.push_str("</mergeCells>");
    let mut rows = String::new();
    for row in 3..50_000 {
        write!(rows, "<row r=\"{row}\" hidden=\"1\"><c r=\"B{row}\"><v>{row}</v></c></row>")
            .unwrap();
    }
    let said = outcome("merges.xlsx", &book(&sheet(&rows, &merges), &[]));
    starts(&said, "1 bays\nBays!D3: error[missing-value]: `Spans` is blank");
}

/// An old workbook, its bytes changed.
fn old(change: impl Fn(&mut Vec<u8>)) -> Vec<u8> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people/old.xls");
    let mut bytes = std::fs::read(file).unwrap();
    change(&mut bytes);
    bytes
}

fn find(bytes: &[u8], what: &[u8]) -> usize {
    bytes.windows(what.len()).position(|part| part == what).unwrap()
}

#[test]
fn old_workbooks() {
    let good = outcome("good.xls", &old(|_| ()));
    starts(&good, "10 bays");
    // A number record, its row and column moved to the far corner.
    let said = outcome(
        "far.xls",
        &old(|bytes| {
            let at = find(bytes, &[0xfd, 0x00, 10, 0]);
            bytes[at + 4..at + 8].copy_from_slice(&[0xff, 0xff, 0xff, 0]);
        }),
    );
    assert!(said.contains("with a cell at") && said.contains("far from the others"), "{said}");
    let said = outcome(
        "dimensions.xls",
        &old(|bytes| {
            let at = find(bytes, &[0x00, 0x02, 14, 0]);
            bytes[at + 8..at + 12].copy_from_slice(&u32::MAX.to_le_bytes());
        }),
    );
    assert!(said.contains("that says it has 4294967295 rows"), "{said}");
    let said = outcome(
        "reversed.xls",
        &old(|bytes| {
            // The last column before the first: the reader then counts from the first of all.
            let at = find(bytes, &[0x00, 0x02, 14, 0]) + 4;
            bytes[at + 4..at + 8].copy_from_slice(&1_900_000_u32.to_le_bytes());
            bytes[at + 8..at + 12].copy_from_slice(&[0xff, 0, 0xfe, 0]);
        }),
    );
    assert!(said.contains("that says it has 1900000 rows and 254 columns"), "{said}");
    // Found by fuzzing: where a sheet begins is what the workbook says, not what its marks say.
    let said = outcome("apart.xls", include_bytes!("../fuzz/seeds/schedule/far-apart.xls"));
    assert!(said.contains("a cell at RNM4360, far from the others: 54696200 cells"), "{said}");
    let said = outcome(
        "together.xls",
        &old(|bytes| {
            // The first text of each sheet moved to T65536: no sheet is too large alone.
            let mut at = 0;
            while let Some(begin) = bytes[at..].windows(6).position(|is| is == [9, 8, 16, 0, 0, 6])
            {
                at += begin + 6;
                let Some(text) = bytes[at..].windows(4).position(|is| is == [0xfd, 0, 10, 0])
                else {
                    break;
                };
                bytes[at + text + 4..at + text + 8].copy_from_slice(&[0xff, 0xff, 19, 0]);
            }
        }),
    );
    assert!(said.contains("has sheets that span more than 2000000 cells together"), "{said}");
    let said = outcome(
        "ring.xls",
        &old(|bytes| {
            // The directory's sector points to itself.
            let directory = u32::from_le_bytes(bytes[48..52].try_into().unwrap()) as usize;
            let table = u32::from_le_bytes(bytes[76..80].try_into().unwrap()) as usize;
            let at = (table + 1) * 512 + directory * 4;
            bytes[at..at + 4].copy_from_slice(&u32::try_from(directory).unwrap().to_le_bytes());
        }),
    );
    starts(&said, "ring.xls: error[no-workbook]: `ring.xls` is damaged");
    let said = outcome(
        "locked.xls",
        &old(|bytes| {
            // The interface header becomes the record that an encrypted workbook has.
            let at = find(bytes, &[0xe1, 0x00, 2, 0]);
            bytes[at] = 0x2f;
            bytes[at + 4] = 1;
        }),
    );
    starts(
        &said,
        "locked.xls: error[no-workbook]: `locked.xls` is encrypted\n  hint: open it with its \
         password and save it without one",
    );
}

#[test]
fn encrypted_workbooks_are_said_to_be_so() {
    // A compound file whose directory has the entry of an encrypted package.
    let said = outcome(
        "locked.xlsx",
        &old(|bytes| {
            let name: Vec<u8> = "Workbook".encode_utf16().flat_map(u16::to_le_bytes).collect();
            let at = find(bytes, &name);
            let new: Vec<u8> =
                "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes).collect();
            bytes[at..at + new.len()].copy_from_slice(&new);
        }),
    );
    starts(&said, "locked.xlsx: error[no-workbook]: `locked.xlsx` is encrypted");
    let manifest = b"<manifest:manifest><manifest:file-entry><manifest:encryption-data>\
                     </manifest:encryption-data></manifest:file-entry></manifest:manifest>";
    let said = outcome("locked.ods", &document(b"<office:document-content/>", manifest));
    starts(&said, "locked.ods: error[no-workbook]: `locked.ods` is encrypted");
}

fn document(content: &[u8], manifest: &[u8]) -> Vec<u8> {
    package(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", manifest),
        ("content.xml", content),
    ])
}

#[test]
fn open_documents() {
    let manifest = b"<manifest:manifest/>";
    let cell = |repeats: u32| {
        format!(
            "<table:table-cell office:value-type=\"string\" \
             table:number-columns-repeated=\"{repeats}\"><text:p>x</text:p></table:table-cell>"
        )
    };
    let table = |rows: &str| {
        format!(
            "<office:document-content><office:body><office:spreadsheet><table:table \
             table:name=\"Bays\">{rows}</table:table></office:spreadsheet></office:body>\
             </office:document-content>"
        )
    };
    let row = |content: &str| format!("<table:table-row>{content}</table:table-row>");
    let wide = table(&row(&cell(16_384)).repeat(20_000));
    let said = outcome("wide.ods", &document(wide.as_bytes(), manifest));
    assert!(said.contains("has a sheet `Bays` with content down to XFD"), "{said}");
    let deep = table(&format!(
        "<table:table-row table:number-rows-repeated=\"1048000\">{}</table:table-row>",
        cell(200)
    ));
    let said = outcome("deep.ods", &document(deep.as_bytes(), manifest));
    assert!(said.contains("has a sheet `Bays` with content down to GR1048000"), "{said}");
    let large = format!(
        "<table:table-row table:number-rows-repeated=\"5500\">{}</table:table-row>",
        cell(200)
    );
    let another = format!("{large}</table:table><table:table table:name=\"Types\">{large}");
    let said = outcome("together.ods", &document(table(&another).as_bytes(), manifest));
    assert!(said.contains("`Types` with content down to GR5500, at most"), "{said}");
    let cut = wide.split_once("</table:table>").unwrap().0;
    let said = outcome("cut.ods", &document(&cut.as_bytes()[..400], manifest));
    starts(&said, "cut.ods: error[no-workbook]: `cut.ods` is damaged");
    let nested = "<a>".repeat(10_000_000);
    let said = outcome("nested.ods", &document(nested.as_bytes(), manifest));
    assert!(said.contains("stand in one another without end"), "{said}");
}

#[test]
fn binary_workbooks() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people/binary.xlsb");
    let good = std::fs::read(file).unwrap();
    let mut archive = zip::ZipArchive::new(Cursor::new(good)).unwrap();
    let mut parts: Vec<(String, Vec<u8>)> = Vec::new();
    for index in 0..archive.len() {
        let mut part = archive.by_index(index).unwrap();
        let mut content = Vec::new();
        std::io::Read::read_to_end(&mut part, &mut content).unwrap();
        parts.push((part.name().unwrap().into_owned(), content));
    }
    let changed = |name: &str, change: &dyn Fn(&mut Vec<u8>)| {
        let parts: Vec<(String, Vec<u8>)> = parts
            .iter()
            .map(|(known, content)| {
                let mut content = content.clone();
                if known == name {
                    change(&mut content);
                }
                (known.clone(), content)
            })
            .collect();
        let parts: Vec<(&str, &[u8])> = parts.iter().map(|(n, c)| (&**n, &**c)).collect();
        package(&parts)
    };
    starts(&outcome("good.xlsb", &changed("", &|_| ())), "10 bays");
    let said = outcome(
        "record.xlsb",
        &changed("xl/worksheets/sheet2.bin", &|content| {
            let at = content.len() / 2;
            content.truncate(at);
            content.extend([0x07, 0xff, 0xff, 0xff, 0x7f]);
        }),
    );
    assert!(said.contains("error["), "{said}");
    let said = outcome(
        "index.xlsb",
        &changed("xl/worksheets/sheet2.bin", &|content| {
            let at = find(content, &[0x07, 12]);
            content[at + 10..at + 14].copy_from_slice(&u32::MAX.to_le_bytes());
        }),
    );
    starts(&said, "Bays: error[damaged-sheet]");
}
