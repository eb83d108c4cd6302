//! Files of loggers: one small text a dialect.

use sherdlight::ledger::temperatures::{
    Cell, LogError, LogRead, TemperatureLog, TimeKind, TimeUnit, Told, Unit,
};

fn read(text: &str) -> LogRead {
    TemperatureLog::read(text.as_bytes(), &Told::default()).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn told(temperature: Unit) -> Told {
    Told { temperature: Some(temperature), time: None }
}

fn error(text: &str, told: &Told) -> LogError {
    TemperatureLog::read(text.as_bytes(), told).unwrap_err()
}

/// Seconds, and degrees C of every probe where there are any.
fn rows(log: &TemperatureLog) -> Vec<(f64, Vec<Option<f64>>)> {
    let value = |cell: &Cell| match cell {
        Cell::Celsius(c) => Some((c * 1000.0).round() / 1000.0),
        _ => None,
    };
    log.rows.iter().map(|row| (row.seconds, row.cells.iter().map(value).collect())).collect()
}

/// The log that most of the dialects below hold.
fn two_rows() -> Vec<(f64, Vec<Option<f64>>)> {
    vec![(0.0, vec![Some(650.5), Some(640.0)]), (70.0, vec![Some(655.0), Some(645.5)])]
}

#[test]
fn dialects_of_time_and_place_of_the_columns() {
    for (text, kind) in [
        (
            "time,A (°C),B (°C)\n2026-05-03T14:02:00+02:00,650.5,640\n2026-05-03T14:03:10+02:00,655,645.5\n",
            TimeKind::ZonedDates,
        ),
        (
            "time,A (°C),B (°C)\n2026-05-03T14:02:00Z,650.5,640\n2026-05-03T14:03:10Z,655,645.5\n",
            TimeKind::ZonedDates,
        ),
        (
            "time,A (C),B (C)\n2026-05-03 14:02,650.5,640\n2026-05-03 14:03:10,655,645.5\n",
            TimeKind::LocalDates,
        ),
        (
            "Zeit;A °C;B °C\n03.05.2026 14:02:10;650,5;640\n03.05.2026 14:03:20;655;645,5\n",
            TimeKind::LocalDates,
        ),
        (
            "Time,A degC,B deg C\n5/3/2026 2:02:00 PM,650.5,640\n5/3/2026 2:03:10 PM,655,645.5\n",
            TimeKind::LocalDates,
        ),
        (
            "Time,A [C],B_C\n\"5/3/2026, 11:59:00 AM\",650.5,640\n\"5/3/2026, 12:00:10 PM\",655,645.5\n",
            TimeKind::LocalDates,
        ),
        (
            "Date,Time,A (℃),B (ºC)\n03-May-2026,23:59:30,650.5,640\n04-May-2026,00:00:40,655,645.5\n",
            TimeKind::LocalDates,
        ),
        ("time,A (°C),B (°C)\n23:59:30,650.5,640\n00:00:40,655,645.5\n", TimeKind::TimeOfDay),
        ("elapsed,A (°C),B (°C)\n00:10:00,650.5,640\n00:11:10,655,645.5\n", TimeKind::Elapsed),
        ("time,A (°C),B (°C)\n00:00:00,650.5,640\n00:01:10,655,645.5\n", TimeKind::Elapsed),
        ("time,A (°C),B (°C)\n23:59:30,650.5,640\n24:00:40,655,645.5\n", TimeKind::Elapsed),
        ("t (s),A (°C),B (°C)\n600,650.5,640\n670,655,645.5\n", TimeKind::Elapsed),
        ("timestamp,A (°C),B (°C)\n1777809720,650.5,640\n1777809790,655,645.5\n", TimeKind::Elapsed),
        ("No.,time,A (°C),B (°C)\n1,14:02:00,650.5,640\n2,14:03:10,655,645.5\n", TimeKind::TimeOfDay),
        (",time,A (°C),B (°C)\n0,14:02:00,650.5,640\n1,14:03:10,655,645.5\n", TimeKind::TimeOfDay),
        // Lines before the header, a row of units, rules, a footer line of empty cells.
        (
            "Logger;4 channels\nSerial:;1234\nStart;2026-05-03 14:02:00\n\n# time;A;B\n;°C;°C\n---;---;---\n\
             14:02:00;650,5;640,0\n14:03:10;655,0;645,5\n;;\n",
            TimeKind::TimeOfDay,
        ),
        ("Temperature unit,C\ntime,A,B\n14:02:00,650.5,640\n14:03:10,655,645.5\n", TimeKind::TimeOfDay),
        // One row a probe and time, in either order.
        (
            "time,probe,value (C)\n14:02:00,A,650.5\n14:02:00,B,640\n14:03:10,A,655\n14:03:10,B,645.5\n",
            TimeKind::TimeOfDay,
        ),
        (
            "time\tchannel\ttemperature\tunit\n14:02:00\tA\t650.5\tC\n14:03:10\tA\t655\tC\n14:02:00\tB\t640\tC\n14:03:10\tB\t645.5\tC\n",
            TimeKind::TimeOfDay,
        ),
        // The unit in the cells, and in degrees F: 1202.9 F = 650.5 C, 1184 F = 640 C, 1211 F = 655 C, 1193.9 F = 645.5 C.
        ("time,A,B\n14:02:00,650.5 °C,640 C\n14:03:10,655 °C,645.5C\n", TimeKind::TimeOfDay),
        ("time,A (°F),B_F\n14:02:00,1202.9,1184\n14:03:10,1211,1193.9\n", TimeKind::TimeOfDay),
    ] {
        let LogRead { log, faults, .. } = read(text);
        assert!(faults.is_empty(), "{text}: {faults:?}");
        assert_eq!(log.time, kind, "{text}");
        assert_eq!(log.probes, ["A", "B"], "{text}");
        assert_eq!(rows(&log), two_rows(), "{text}");
    }
}

#[test]
fn minutes_and_hours_by_the_header() {
    for (name, one, other) in [
        ("min", "0.5", "1.5"),
        ("time [min]", "10", "11"),
        ("t (h)", "0,25", "0,2666666666666667"),
        ("time (ms)", "0", "60000"),
    ] {
        let log = read(&format!("{name};A (°C)\n{one};20\n{other};25\n")).log;
        assert!((log.rows[1].seconds - 60.0).abs() < 1e-9, "{name}");
    }
    let log = read("time (mm:ss),A (C)\n00:10,20\n01:10,25\n").log;
    assert_eq!((log.rows[1].seconds, log.time), (60.0, TimeKind::Elapsed));
}

#[test]
fn logs_without_a_header() {
    let wide = "2026-05-03 14:02,650.5,640\n2026-05-03 14:03:10,655,645.5\n";
    let counted = "1;14:02:00;650,5;640\n2;14:03:10;655;645,5\n";
    for text in [wide, counted] {
        let log = TemperatureLog::read(text.as_bytes(), &told(Unit::Celsius)).unwrap().log;
        assert_eq!(rows(&log), two_rows(), "{text}");
        assert_eq!(log.probes, ["probe 1", "probe 2"]);
        assert!(matches!(error(text, &Told::default()), LogError::UnitUnknown { .. }));
    }
    let long = "14:02:00,A,650.5\n14:02:00,B,640\n14:03:10,A,655\n14:03:10,B,645.5\n";
    let log = TemperatureLog::read(long.as_bytes(), &told(Unit::Celsius)).unwrap().log;
    assert_eq!((rows(&log), log.probes), (two_rows(), vec!["A".to_owned(), "B".to_owned()]));
    let numbers = "0,650.5,640\n70,655,645.5\n";
    assert!(matches!(error(numbers, &told(Unit::Celsius)), LogError::TimeUnitUnknown { .. }));
    let both = Told { temperature: Some(Unit::Celsius), time: Some(TimeUnit::Seconds) };
    assert_eq!(rows(&TemperatureLog::read(numbers.as_bytes(), &both).unwrap().log), two_rows());
}

#[test]
fn units_are_never_guessed() {
    let said = error("time,A,B (C)\n14:02,650,640\n14:03,655,645\n", &Told::default()).to_string();
    assert_eq!(said, "nothing says whether column A is in degrees C or F; say which");
    // A letter that tells probes apart is no unit, nor is the type of the thermocouple.
    for header in ["time,probe C", "time,Probe_F", "time,A,B,C", "time,type K", "time,T (K)"] {
        let cells = ",650".repeat(header.matches(',').count());
        let text = format!("{header}\n14:02{cells}\n14:03{cells}\n");
        assert!(matches!(error(&text, &Told::default()), LogError::UnitUnknown { .. }), "{header}");
        TemperatureLog::read(text.as_bytes(), &told(Unit::Celsius)).unwrap();
    }
    let contradicted = error("time,A (C)\n14:02,650\n14:03,655\n", &told(Unit::Fahrenheit));
    assert_eq!(contradicted, LogError::UnitContradicted { file: 'C', told: Unit::Fahrenheit });
    assert!(matches!(
        error("time,A (C)\n0,650\n10,655\n", &Told::default()),
        LogError::TimeUnitUnknown { .. }
    ));
    // Figures between colons that count from the start may be minutes or hours.
    assert!(matches!(
        error("time,A (C)\n00:00,650\n00:10,655\n", &Told::default()),
        LogError::TimeUnitUnknown { .. }
    ));
    let minutes = Told { temperature: None, time: Some(TimeUnit::Minutes) };
    let log = TemperatureLog::read(b"time,A (C)\n00:00,650\n00:10,655\n", &minutes).unwrap().log;
    assert_eq!(log.rows[1].seconds, 10.0);
}

#[test]
fn what_is_no_log_is_said() {
    assert!(matches!(error("", &Told::default()), LogError::Table(_)));
    assert_eq!(error("piece,slip\nA,white\nB,red\n", &Told::default()), LogError::NoReadings);
    assert_eq!(error("A (C),B (C)\n650,640\n655,645\n", &Told::default()), LogError::NoTime);
    let wide = format!("time{}\n14:02{}\n", ",x (C)".repeat(65), ",20".repeat(65));
    assert!(matches!(error(&wide, &Told::default()), LogError::TooManyProbes { count: 65, .. }));
}

#[test]
fn faults_are_told_by_row_and_column_and_the_rest_is_kept() {
    let LogRead { log, faults, .. } = read(
        "time,A (C),B (C)\n14:00:00,20,20\n14:01:00,abc,30\n14:02:00,40\n14:03:00,50,50\n14:03:00,51,51\n\
         later,60,60\n13:59:00,70,70\n14:05:00,80,80\nEnd of data\n",
    );
    let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "row 3, column A (C): 'abc' is no number",
            "row 4: has 2 cells where the header has 3",
            "row 6, column time: '14:03:00' is the time of row 5 again",
            "row 7, column time: 'later' is no time",
            "row 8, column time: '13:59:00' does not fit the times around it: time runs backwards",
            "row 10: has 1 cell where the header has 3",
        ]
    );
    assert_eq!(
        rows(&log),
        [
            (0.0, vec![Some(20.0), Some(20.0)]),
            (60.0, vec![None, Some(30.0)]),
            (180.0, vec![Some(50.0), Some(50.0)]),
            (300.0, vec![Some(80.0), Some(80.0)]),
        ]
    );
    // The text of the time is kept as written, and the line of the file.
    assert_eq!((log.rows[3].written.as_str(), log.rows[3].line), ("14:05:00", 9));
}

#[test]
fn one_wrong_time_far_ahead_costs_one_row() {
    let LogRead { log, faults, .. } = read(
        "time,A (C)\n2026-05-03 14:00,20\n2062-05-03 14:01,30\n2026-05-03 14:02,40\n2026-05-03 14:03,50\n",
    );
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].line, 3);
    assert_eq!(log.rows.len(), 3);
}

#[test]
fn days_and_months_are_told_apart_by_the_file() {
    let spans = |text: &str| {
        let read = read(text);
        (read.log.rows.last().unwrap().seconds, read.remarks.len())
    };
    // 13 can only be a day: the fifth and the thirteenth of April, 8 days.
    assert_eq!(spans("time,A (C)\n05/04/2026 10:00,20\n13/04/2026 10:00,30\n"), (8.0 * 86_400.0, 0));
    assert_eq!(spans("time,A (C)\n04/05/2026 10:00,20\n04/13/2026 10:00,30\n"), (8.0 * 86_400.0, 0));
    // Over midnight, one day or one month: the shorter, and it is said.
    assert_eq!(spans("time,A (C)\n5/3/2026 23:00,20\n5/4/2026 1:00,30\n"), (7200.0, 1));
    assert_eq!(spans("time,A (C)\n3/5/2026 23:00,20\n4/5/2026 1:00,30\n"), (7200.0, 1));
    // 2028 is a leap year, 2026 is none (ISO 8601 uses the Gregorian calendar).
    assert_eq!(spans("time,A (C)\n2028-02-28 10:00,20\n2028-03-01 10:00,30\n"), (2.0 * 86_400.0, 0));
    assert_eq!(spans("time,A (C)\n2026-02-28 10:00,20\n2026-03-01 10:00,30\n"), (86_400.0, 0));
}

#[test]
fn zones_count_and_are_not_mixed() {
    let LogRead { log, faults, .. } = read(
        "time,A (C)\n2026-10-25T02:30:00+02:00,20\n2026-10-25T02:30:00+01:00,30\n2026-10-25T03:30:00,40\n",
    );
    assert_eq!(rows(&log), [(0.0, vec![Some(20.0)]), (3600.0, vec![Some(30.0)])]);
    assert_eq!(
        faults[0].to_string(),
        "row 4, column time: '2026-10-25T03:30:00' has no zone, where the first row has one"
    );
}

#[test]
fn words_for_no_reading_and_empty_cells_are_kept_apart() {
    let log = read("time,A (C),B (C)\n14:00,20,OL\n14:01,,---\n14:02,n/a,NaN\n14:03,O.L.,50\n").log;
    let word = |text: &str| Cell::NoReading(text.into());
    assert_eq!(log.rows[0].cells, [Cell::Celsius(20.0), word("OL")]);
    assert_eq!(log.rows[1].cells, [Cell::Empty, word("---")]);
    assert_eq!(log.rows[2].cells, [Cell::Empty, word("NaN")]);
    assert_eq!(log.rows[3].cells, [word("O.L."), Cell::Celsius(50.0)]);
}

#[test]
fn what_is_no_temperature_of_the_fire_is_passed_over() {
    let LogRead { log, remarks, .. } = read(
        "time,A (C),battery (V),humidity %,ambient (C),notes\n14:00,20,3.1,40,18,lit\n14:01,30,3.1,41,18,\n14:02,40,3.1,41,18,\n",
    );
    assert_eq!(log.probes, ["A"]);
    assert!(remarks[0].contains("'battery (V)', 'humidity %', 'ambient (C)'"), "{remarks:?}");
}

#[test]
fn a_header_that_comes_again_is_passed_over() {
    let LogRead { log, faults, .. } = read("time,A (C)\n14:00,20\n14:01,30\ntime,A (C)\n14:02,40\n");
    assert_eq!((log.rows.len(), faults.len()), (3, 0));
}

#[test]
fn columns_of_one_name_are_told_apart() {
    assert_eq!(
        read("time,T (C),T (C),(C)\n14:00,20,21,22\n14:01,30,31,32\n").log.probes,
        ["T", "T (2)", "probe 3"]
    );
    assert_eq!(read("time,channel,value (C)\n14:00,1,21\n14:00,2,22\n").log.probes, ["probe 1", "probe 2"]);
}
