//! Delimited text as people have it.

use proptest::prelude::*;
use sherdlight::ledger::table::{CellFault, DecimalSigns, Separator, Table, TableError, number};

fn read(text: &str) -> Table {
    Table::read(text.as_bytes()).unwrap()
}

fn cells(table: &Table) -> Vec<Vec<&str>> {
    table.rows.iter().map(|row| row.cells.iter().map(String::as_str).collect()).collect()
}

fn lines(table: &Table) -> Vec<usize> {
    table.rows.iter().map(|row| row.line).collect()
}

fn told(faults: &[CellFault]) -> Vec<String> {
    faults.iter().map(ToString::to_string).collect()
}

#[test]
fn the_separator_is_told_by_content() {
    for (text, separator) in [
        ("piece,peak\nA,700\nB,710\n", Separator::Comma),
        ("piece;peak\nA;700,5\nB;710,25\n", Separator::Semicolon),
        ("piece\tpeak\nA\t700,5\nB\t710\n", Separator::Tab),
        // As many commas as semicolons, all between digits.
        ("0,5;700,5\n1,0;710,5\n", Separator::Semicolon),
        // A semicolon in each row's notes, commas that are no decimals.
        ("piece,slip;notes\nA,white;thin\nB,white;thick\n", Separator::Comma),
        ("piece,notes\n\"A; B\",\"c; d\"\n\"E; F\",\"g; h\"\n", Separator::Comma),
        ("name,notes\n\"a\",\";\n;\n;a\"\n", Separator::Comma),
        ("piece;notes\nA;6\"\"\nB;7\n", Separator::Semicolon),
        ("file\none.jpg\ntwo.jpg\n", Separator::Comma),
        ("sep=;\npiece;notes\nA;b,c\n", Separator::Semicolon),
    ] {
        let table = read(text);
        assert_eq!(table.separator, separator, "{text}");
        assert!(table.faults.is_empty(), "{text}: {:?}", table.faults);
    }
}

#[test]
fn quoted_cells_hold_separators_quotes_and_line_ends() {
    let table =
        read("piece,notes\n\"bowl, small\",\"said \"\"good\"\"\"\njar,\"two\nlines\"\nlid,6\" wide\n");
    assert_eq!(
        cells(&table),
        [vec!["bowl, small", "said \"good\""], vec!["jar", "two\nlines"], vec!["lid", "6\" wide"]]
    );
    // The quoted line end is a line of the file.
    assert_eq!(lines(&table), [2, 3, 5]);
}

#[test]
fn lines_are_counted_as_an_editor_does() {
    let plain = "piece,peak\n\nA,1\n \n,\nB,2\n\n";
    for ends in ["\n", "\r\n", "\r"] {
        let table = read(&plain.replace('\n', ends));
        assert_eq!(table.header_line, 1);
        assert_eq!(lines(&table), [3, 6], "{ends:?}");
        assert_eq!(cells(&table), [["A", "1"], ["B", "2"]]);
    }
    assert_eq!(lines(&read("\n\npiece,peak\nA,1\n")), [4]);
    assert_eq!(lines(&read("sep=,\npiece,peak\nA,1\n")), [3]);
}

#[test]
fn encodings_are_read_and_remarked() {
    let text = "piece;ground\nA;weiß\n";
    let utf16 = |mark: [u8; 2], bytes: fn(u16) -> [u8; 2]| -> Vec<u8> {
        mark.into_iter().chain(text.encode_utf16().flat_map(bytes)).collect()
    };
    let mut marked = b"\xEF\xBB\xBF".to_vec();
    marked.extend(text.as_bytes());
    for bytes in [marked, utf16([0xFF, 0xFE], u16::to_le_bytes), utf16([0xFE, 0xFF], u16::to_be_bytes)] {
        let table = Table::read(&bytes).unwrap();
        assert_eq!((table.header[0].as_str(), table.rows[0].cells[1].as_str()), ("piece", "weiß"));
        assert!(table.remarks.is_empty());
    }
    // 0xDF is the sharp s and 0x80 the euro sign of Windows-1252 (WHATWG Encoding Standard, from memory).
    let table = Table::read(b"piece;ground\nA;wei\xDF \x80\n").unwrap();
    assert_eq!(table.rows[0].cells[1], "weiß €");
    assert!(table.remarks[0].contains("Windows-1252"), "{:?}", table.remarks);
}

#[test]
fn what_is_no_table_is_refused_with_a_sentence() {
    for empty in ["", "\n\n \r\n", "\u{feff}\n", ",,\n,,\n"] {
        assert_eq!(Table::read(empty.as_bytes()), Err(TableError::Empty), "{empty:?}");
    }
    for binary in [&b"a,b\n1,\x002\n"[..], b"PK\x03\x04 and so on", b"\x01\x02\x03\x04\x05\x06"] {
        let said = Table::read(binary).unwrap_err().to_string();
        assert!(said.starts_with("the file is no text") && said.contains("CSV"), "{said}");
    }
}

#[test]
fn short_and_long_rows_are_told_by_line() {
    let table = read("piece,peak,place\nA,700,rim\nB,710\nC,720,rim,left\nD,730,rim,,\n");
    assert_eq!(lines(&table), [2, 5]);
    assert_eq!(
        told(&table.faults),
        [
            "row 3: has 2 cells where the header has 3",
            "row 4: has 4 cells where the header has 3; put quotation marks around a cell that holds a separator",
        ]
    );
    let open = read("piece,peak\nA,1\n\"B,2\nC,3\n");
    assert_eq!(lines(&open), [2]);
    assert!(told(&open.faults)[0].starts_with("row 3: a quotation mark"), "{:?}", open.faults);
}

#[test]
fn numbers_are_read_or_refused_but_never_guessed() {
    let plain = DecimalSigns::default();
    for (cell, value) in [
        ("650", 650.0),
        ("650.5", 650.5),
        ("650,5", 650.5),
        (" -6.5e2 ", -650.0),
        ("\u{2212}3", -3.0),
        (".5", 0.5),
        ("0,125", 0.125),
        ("1234,125", 1234.125),
        ("23.125", 23.125),
    ] {
        assert_eq!(number(cell, plain), Ok(Some(value)), "{cell}");
    }
    assert_eq!(number("  ", plain), Ok(None));
    for cell in [
        "abc", "1.234,5", "1,234.5", "1,234", "1 234", "1'234", "inf", "nan", "1e999", "0x10", "-", "1e", ".",
    ] {
        assert!(number(cell, plain).is_err(), "{cell}");
    }
    assert_eq!(number("abc", plain), Err("'abc' is no number".into()));
    assert!(number("1,234", plain).unwrap_err().contains("thousands sign"));
}

#[test]
fn a_table_tells_its_decimal_sign() {
    let first = |text: &str| {
        let table = read(text);
        number(&table.rows[0].cells[1], table.decimals)
    };
    // Another number shows the sign, or the semicolon leaves the comma free.
    assert_eq!(first("a;b\nx;23,125\ny;23,0625\n"), Ok(Some(23.125)));
    assert_eq!(first("a;b\nx;23,125\ny;23,250\n"), Ok(Some(23.125)));
    assert_eq!(first("a,b\nx,\"23,125\"\ny,\"23,5\"\n"), Ok(Some(23.125)));
    // Quoted in a table with commas, or beside whole numbers, it may part thousands.
    assert!(first("a,b\nx,\"1,012\"\ny,\"650\"\n").is_err());
    assert!(first("a\tb\nx\t1,012\ny\t650\n").is_err());
    assert!(first("a;b\nx;1.012\ny;650,5\n").is_err());
    assert_eq!(first("a,b\nx,23.125\ny,23.25\n"), Ok(Some(23.125)));
}

#[test]
fn headers_are_matched_and_faults_told() {
    let table = read("Piece, Peak C ,weigth,piece,\nA,abc,3,B,\nC,,4,D,x\n");
    assert_eq!(
        told(&table.faults),
        [
            "row 3: has 5 cells where the header has 4; put quotation marks around a cell that holds a separator"
        ]
    );
    let (columns, faults) = table.columns(&["piece", "peak_c", "weight"]);
    assert_eq!(
        told(&faults),
        [
            "row 1, column weigth: no such column; known: piece, peak_c, weight",
            "row 1, column piece: stands twice, as columns 1 and 4",
        ]
    );
    assert_eq!(
        told(&columns.missing(&["piece", "weight"])),
        ["row 1, column weight: this column is missing"]
    );
    assert_eq!(columns.cell(&table.rows[0], "piece"), Some("A"));
    let fault = columns.number(&table.rows[0], "peak_c").unwrap_err();
    assert_eq!(fault.to_string(), "row 2, column Peak C: 'abc' is no number");
    // Unknown is none, never 0.
    let table = read("piece,PEAK-C,\nA,,\n");
    let (columns, faults) = table.columns(&["piece", "peak c"]);
    assert!(faults.is_empty());
    assert_eq!(columns.number(&table.rows[0], "peak_c"), Ok(None));
    let nameless = read("piece,,peak\nA,x,1\n");
    assert_eq!(
        told(&nameless.columns(&["piece", "peak"]).1),
        ["row 1: column 2 has no name, but row 2 fills it"]
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = Table::read(&bytes);
    }

    #[test]
    fn no_text_makes_it_panic(text in "[a-c0-9,;.\"\t\r\n \u{feff}ß-]{0,200}") {
        if let Ok(table) = Table::read(text.as_bytes()) {
            let lines = text.replace("\r\n", "\n").replace('\r', "\n").split('\n').count();
            prop_assert!(table.rows.iter().all(|row| row.line <= lines && row.cells.len() >= table.header.len()));
        }
    }

    /// What is quoted comes back, and stands in the line where it begins.
    #[test]
    fn quoted_tables_come_back(rows in prop::collection::vec(("[a-z]{1,3}", "[a-z,;\"\n ]{0,9}[a-z]"), 1..12)) {
        let quoted = |cell: &str| format!("\"{}\"", cell.replace('"', "\"\""));
        let mut text = "name,notes\n".to_owned();
        let mut wanted = Vec::new();
        for (name, notes) in &rows {
            wanted.push((text.matches('\n').count() + 1, name.clone(), notes.trim().to_owned()));
            text += &format!("{},{}\n", quoted(name), quoted(notes));
        }
        let table = read(&text);
        let found: Vec<_> =
            table.rows.iter().map(|row| (row.line, row.cells[0].clone(), row.cells[1].clone())).collect();
        prop_assert_eq!(found, wanted);
    }
}
