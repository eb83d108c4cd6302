//! Trials kept in the ledger: tile by tile, told apart by name, read again, exported; and the same answers as from a table.

use assert_cmd::Command;
use std::fs;
use std::path::Path;

/// The demo tile holds one row of four swatches of one paint, strongest first (`examples/render_demo`). Copies with bytes
/// after the end of the picture are other photographs of the same readings.
pub struct Bench {
    folder: tempfile::TempDir,
}

pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Bench {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn photograph(&self, name: &str, number: usize) {
        let tile = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-images/09-first-frost-tile.jpg");
        let mut bytes = fs::read(tile).unwrap();
        bytes.extend(std::iter::repeat_n(0, number));
        fs::write(self.path().join(name), bytes).unwrap();
    }

    /// Arguments parted by spaces; `_` stands for a space inside of one.
    pub fn run(&self, arguments: &str) -> Run {
        let mut program = Command::cargo_bin("sherdlight").unwrap();
        let arguments = arguments.split_whitespace().map(|word| word.replace('_', " "));
        let output = program
            .current_dir(self.path())
            .env("SHERDLIGHT_LEDGER", self.path().join("kept.sqlite"))
            .args(arguments)
            .output()
            .unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Run { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
    }

    /// What a command that must go well prints.
    pub fn told(&self, arguments: &str) -> String {
        let run = self.run(arguments);
        assert_eq!(run.code, 0, "{arguments}: {}", run.err);
        run.out
    }

    fn refused(&self, arguments: &str, code: i32, wanted: &str) {
        let run = self.run(arguments);
        assert_eq!(run.code, code, "{arguments}: {}", run.err);
        assert!(run.err.contains(wanted), "{arguments}: {}", run.err);
    }
}

/// A plan of so many tiles, the odd ones fired first; `slip` is the second one beside river white.
pub fn plan(tiles: usize, slip: &str, seed: u64) -> String {
    let mut text = "tile,row,column,swatch,role,slip,paint,coats,firing,seed\n".to_owned();
    for tile in 1..=tiles {
        let firing = if tile % 2 == 1 { "wet reed" } else { "long ember" };
        for (column, (role, slip, coats)) in [
            ("control", "river white", 2),
            ("trial", "river white", 1),
            ("trial", slip, 2),
            ("trial", slip, 1),
        ]
        .into_iter()
        .enumerate()
        {
            // Each tile begins its row elsewhere, so that readings are crossed with slips.
            let column = (column + tile) % 4 + 1;
            text +=
                &format!("{tile},1,{column},T{tile}C{column},{role},{slip},reed,{coats},{firing},{seed}\n");
        }
    }
    text
}

fn bench(tiles: usize) -> Bench {
    let bench = Bench::new();
    fs::create_dir(bench.path().join("slips")).unwrap();
    fs::write(bench.path().join("slips/plan.csv"), plan(tiles, "bank buff", 11)).unwrap();
    (1..=tiles).for_each(|tile| bench.photograph(&format!("t{tile}.jpg"), tile));
    bench
}

/// Rows of a table of the ledger.
fn rows(bench: &Bench, table: &str) -> u64 {
    let check: serde_json::Value = serde_json::from_str(&bench.told("ledger check --json")).unwrap();
    assert_eq!(check["problems"], serde_json::json!([]));
    check["rows"][table].as_u64().unwrap()
}

#[test]
fn a_trial_comes_in_bit_by_bit_and_answers_as_its_table_does() {
    let bench = bench(4);
    // The name is that of the folder of plan.csv.
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --tiles 1,2 --ledger kept.sqlite");
    let list = bench.told("trial list");
    let row: Vec<&str> =
        list.lines().last().unwrap().split("  ").map(str::trim).filter(|c| !c.is_empty()).collect();
    assert_eq!(row, ["slips", "1, 2", "long ember, wet reed", "8", "8"]);
    let early = bench.run("trial read slips/plan.csv t4.jpg t3.jpg --tiles 4,3 --trial slips --out late.csv");
    assert!(early.code == 0 && !early.err.contains("Tile 1"), "{}", early.err);
    assert_eq!((rows(&bench, "photographs"), rows(&bench, "swatches")), (4, 16));
    let run = bench.run("trial read slips/plan.csv t1.jpg t2.jpg t3.jpg t4.jpg --trial slips --out all.csv");
    assert!(run.err.contains("4 photographs were read before with the same settings"), "{}", run.err);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg t3.jpg t4.jpg --out apart.csv");
    let table = |name: &str| fs::read_to_string(bench.path().join(name)).unwrap();
    assert_eq!(table("all.csv"), table("apart.csv"));
    for question in
        ["compare{} --by slip --value l", "compare{} --by firing --value b --json", "parts{} --value l"]
    {
        let of = |source: &str| bench.told(&format!("trial {}", question.replace("{}", source)));
        assert_eq!(of(" --trial slips"), of(" apart.csv"), "{question}");
    }
    // Read once more nothing is entered twice, and nothing differs.
    bench.told("trial read slips/plan.csv t1.jpg --tiles 1 --trial slips --again");
    assert_eq!((rows(&bench, "passes"), rows(&bench, "swatches")), (4, 16));
    // One firing alone, and one that no tile was fired in.
    let one = bench.told("trial compare --trial slips --firing wet_reed --by slip --value l");
    assert!(one.starts_with("l by slip: 8 swatches"), "{one}");
    bench.refused(
        "trial parts --trial slips --firing first_frost --value l",
        5,
        "no readings of tiles of this trial",
    );
    bench.refused("trial parts --trial slip --value l", 5, "the ledger knows no trial 'slip'");
}

#[test]
fn tiles_of_one_number_are_told_apart_by_their_trials() {
    let bench = bench(2);
    fs::write(bench.path().join("paints.csv"), plan(2, "chalk", 12)).unwrap();
    bench.photograph("p1.jpg", 11);
    bench.photograph("p2.jpg", 12);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    // A plan that is another trial's is not taken for the one that is there: by its seed, by what lies on a tile.
    bench.refused(
        "trial read paints.csv p1.jpg p2.jpg --trial slips",
        5,
        "drawn by seed 11, those of this plan by 12",
    );
    fs::write(bench.path().join("unseeded.csv"), plan(2, "chalk", 12).replace(",12\n", ",\n")).unwrap();
    bench.refused(
        "trial read unseeded.csv p1.jpg --tiles 1 --trial slips",
        5,
        "of tile 1 was another swatch",
    );
    assert_eq!(rows(&bench, "photographs"), 2);
    bench.told("trial read paints.csv p1.jpg p2.jpg --ledger kept.sqlite");
    let list = bench.told("trial list --json");
    assert!(
        list.contains(r#""name":"paints","tiles":[1,2]"#) && list.contains(r#""name":"slips","tiles":[1,2]"#)
    );
    let alone = bench.told("trial compare --trial slips --by slip --value l");
    assert!(alone.starts_with("l by slip: 8 swatches, adjusted for coats, tile"), "{alone}");
    let both = bench.told("trial compare --trial slips --trial paints --by slip --value l --json");
    let both: serde_json::Value = serde_json::from_str(&both).unwrap();
    assert_eq!(both["swatches"], 16);
    let levels: Vec<&str> =
        both["levels"].as_array().unwrap().iter().map(|l| l["level"].as_str().unwrap()).collect();
    assert_eq!(levels, ["bank buff", "chalk", "river white"]);
    // Four tiles and three slips and two coats: 1 + 3 + 2 + 1 columns that do not depend on each other.
    assert_eq!(both["freedom"], 16 - (1 + 3 + 2 + 1));
}

#[test]
fn what_was_read_or_put_right_last_counts_and_nothing_is_lost() {
    let bench = bench(2);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    // The plan is put right: the same photographs say what they show by the new one.
    fs::write(bench.path().join("slips/plan.csv"), plan(2, "bank cream", 11)).unwrap();
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    assert_eq!((rows(&bench, "photographs"), rows(&bench, "passes")), (2, 4));
    let told = bench.told("trial compare --trial slips --by slip --value l");
    assert!(told.starts_with("l by slip: 8 swatches") && told.contains("bank cream"), "{told}");
    // The load is scored as well: that reading has no swatches and does not undo them.
    bench.told("score t1.jpg t2.jpg --firing wet_reed --quiet");
    assert_eq!(bench.told("trial compare --trial slips --by slip --value l"), told);
    // Another photograph of a tile counts from then on, until the first is read again.
    bench.photograph("t1-again.jpg", 21);
    let counts = |photograph: &str| {
        bench.told("ledger export --csv tables");
        let table = fs::read_to_string(bench.path().join("tables/swatches.csv")).unwrap();
        fs::remove_dir_all(bench.path().join("tables")).unwrap();
        let mut rows = csv::Reader::from_reader(table.as_bytes());
        let named = |row: &csv::StringRecord| row.iter().any(|cell| cell == photograph);
        rows.records()
            .map(Result::unwrap)
            .filter(|row| named(row) && row.iter().next_back() == Some("1"))
            .count()
    };
    let run = bench.run("trial read slips/plan.csv t1-again.jpg --tiles 1 --trial slips");
    assert!(run.err.contains("Tile 1: t1-again.jpg counts now, t1.jpg no longer."), "{}", run.err);
    assert_eq!((counts("t1.jpg"), counts("t1-again.jpg"), counts("t2.jpg")), (0, 4, 4));
    let run = bench.run("trial read slips/plan.csv t1.jpg --tiles 1 --trial slips");
    assert!(run.err.contains("Tile 1: t1.jpg counts now, t1-again.jpg no longer."), "{}", run.err);
    assert_eq!((counts("t1.jpg"), counts("t1-again.jpg"), counts("t2.jpg")), (4, 0, 4));
    // A photograph that cannot be read says so and leaves what is there.
    fs::write(bench.path().join("broken.jpg"), "no picture").unwrap();
    bench.refused("trial read slips/plan.csv broken.jpg --tiles 2 --trial slips", 4, "tile 2 was not read");
    assert_eq!(bench.told("trial compare --trial slips --by slip --value l"), told);
}

#[test]
fn a_tile_that_loses_its_photograph_is_told() {
    let bench = bench(2);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    let run = bench.run("trial read slips/plan.csv t1.jpg --tiles 2 --trial slips");
    assert!(run.err.contains("Tile 2: t1.jpg counts now, t2.jpg no longer."), "{}", run.err);
    assert!(
        run.err.contains("Tile 1 has no photograph any more: t1.jpg was read for another tile."),
        "{}",
        run.err
    );
    assert!(bench.told("trial list --json").contains(r#""tiles":[2]"#));
    let run = bench.run("trial read slips/plan.csv t1.jpg --tiles 1 --trial slips");
    assert!(
        run.err.contains("Tile 2: t2.jpg counts again, since t1.jpg was read for another tile."),
        "{}",
        run.err
    );
    assert!(bench.told("trial list --json").contains(r#""tiles":[1,2]"#));
}

#[test]
fn tiles_belong_to_the_firings_of_the_ledger() {
    let bench = bench(4);
    bench.told("firing add first_frost --date 2026-05-03");
    bench.refused(
        "trial read slips/plan.csv t1.jpg t2.jpg --tiles 1,2 --firing first_frost",
        2,
        "the plan says 'long ember' and 'wet reed' for these tiles",
    );
    bench.told("trial read slips/plan.csv t1.jpg t3.jpg --tiles 1,3 --firing first_frost --out odd.csv");
    bench.told("trial read slips/plan.csv t2.jpg t4.jpg --tiles 2,4 --trial slips");
    let odd = fs::read_to_string(bench.path().join("odd.csv")).unwrap();
    assert_eq!((odd.matches("first frost").count(), odd.matches("wet reed").count()), (8, 0));
    assert!(bench.told("firing show first_frost").contains("slips, tile 1"));
    // A firing that gets another name in the ledger has it here too.
    bench.told("firing edit long_ember --rename ash_pit");
    let told = bench.told("trial compare --trial slips --by firing --value l");
    assert!(told.contains("ash pit - first frost") && !told.contains("long ember"), "{told}");
}

#[test]
fn a_trial_goes_from_ledger_to_ledger() {
    let bench = bench(2);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    bench.told("ledger export --json out.jsonl");
    let told = bench.told("trial parts --trial slips --value l");
    bench.told("ledger import out.jsonl --ledger other.sqlite");
    assert_eq!(bench.told("trial parts --trial slips --value l --ledger other.sqlite"), told);
    bench.told("ledger import out.jsonl");
    assert_eq!(rows(&bench, "swatches"), 8, "nothing is doubled");
    bench.told("ledger backup copy.sqlite");
    assert_eq!(bench.told("trial parts --trial slips --value l --ledger copy.sqlite"), told);
}

#[test]
fn what_cannot_be_asked_for_is_told() {
    let bench = bench(1);
    fs::write(bench.path().join("two.csv"), plan(2, "a", 1)).unwrap();
    for (arguments, wanted) in [
        ("trial read slips/plan.csv t1.jpg", "nothing is named that the readings are to go to"),
        ("trial read slips/plan.csv t1.jpg --again --out a.csv", "no ledger is asked for"),
        ("trial read two.csv t1.jpg t1.jpg --trial two", "are the same photograph"),
        ("trial compare --by slip --value l", "FILE"),
        ("trial compare a.csv --trial slips --by slip --value l", "cannot be used with"),
    ] {
        bench.refused(arguments, 2, wanted);
    }
    assert!(!bench.path().join("kept.sqlite").exists());
    fs::write(bench.path().join("odd.csv"), plan(1, "a", 1).replace("trial,a,reed,2", "spare,a,reed,2"))
        .unwrap();
    bench.refused(
        "trial read odd.csv t1.jpg --trial odd",
        5,
        "'spare' is no role; known: trial, control, blank",
    );
}

/// All of a page from its first question on: what is before it names the trial.
fn answers(page: &str) -> &str {
    page.split("<section class=\"charts question\"").nth(1).unwrap().split("Why not read").next().unwrap()
}

#[test]
fn a_page_of_the_ledger_says_what_that_of_the_table_says() {
    let bench = bench(4);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg t3.jpg t4.jpg --trial slips --out slips.csv");
    let text = |name: &str| fs::read_to_string(bench.path().join(name)).unwrap();
    bench.told("trial report --trial slips --value l --better lower --out kept.html");
    bench.told("trial report slips.csv --value l --better lower --out table.html");
    let (kept, table) = (text("kept.html"), text("table.html"));
    assert_eq!(answers(&kept), answers(&table));
    assert_eq!(kept.replace("slips, tile ", "Tile "), table);
    // A page may be written over by a newer one, nothing else may.
    bench.told("trial report --trial slips --value b --out kept.html --title Later");
    assert!(text("kept.html").contains("<h1>Later</h1>"));
    fs::write(bench.path().join("mine.html"), "mine").unwrap();
    for (arguments, wanted) in [
        ("trial report slips.csv --value l --out mine.html", "is no page of a trial"),
        ("trial report slips.csv --value l --out page.csv", "does not end in .html"),
        ("trial report slips.csv --value m --out page.html", "no column 'm'"),
    ] {
        bench.refused(arguments, 5, wanted);
    }
    assert_eq!(text("mine.html"), "mine");
}

#[test]
fn tiles_of_several_trials_stand_on_one_page_each_by_its_name() {
    let bench = bench(2);
    fs::write(bench.path().join("paints.csv"), plan(2, "chalk", 12)).unwrap();
    bench.photograph("p1.jpg", 11);
    bench.told("trial read slips/plan.csv t1.jpg t2.jpg --trial slips");
    bench.told("trial read paints.csv p1.jpg --tiles 1 --trial paints");
    bench.told("trial report --trial slips --trial paints --value l --out both.html");
    let page = fs::read_to_string(bench.path().join("both.html")).unwrap();
    for wanted in
        ["slips, tile 1", "slips, tile 2", "paints, tile 1", "seeds 11, 12", "<h1>slips, paints</h1>"]
    {
        assert!(page.contains(wanted), "{wanted}");
    }
    // A tile of the ledger without its control is told by its trial and number.
    fs::write(
        bench.path().join("bare.csv"),
        plan(2, "cream", 13).replace("2,1,3,T2C3,control", "2,1,3,T2C3,trial"),
    )
    .unwrap();
    bench.photograph("b1.jpg", 21);
    bench.photograph("b2.jpg", 22);
    bench.told("trial read bare.csv b1.jpg b2.jpg --trial bare");
    let parts = bench.told("trial parts --trial slips --trial bare --value l");
    assert!(parts.contains("No control was read on tile bare 2:"), "{parts}");
    let run = bench.run("trial compare --trial bare --by slip --value l");
    assert!(run.err.contains("Tile 2 has no control with a value"), "{}", run.err);
}
