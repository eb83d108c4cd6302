-- The ledger, version 1. Frozen: a change of shape is a new file with the next number.
-- Unknown is NULL, never 0 and never ''. Times stand as they were written, with a zone only where one was given;
-- `entered` is when a row came into the ledger, in UTC.

CREATE TABLE recipes (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('clay', 'slip', 'red', 'paint')),
    name TEXT NOT NULL CHECK (name <> ''),
    batch TEXT,
    coats REAL,
    thickness TEXT,
    strength TEXT,
    date TEXT,
    notes TEXT,
    entered TEXT NOT NULL,
    UNIQUE (kind, name)
) STRICT;

CREATE TABLE firings (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE CHECK (name <> ''),
    date TEXT,
    place TEXT,
    fuel TEXT,
    weather TEXT,
    cover TEXT,
    pre_warm_minutes REAL,
    start_time TEXT,
    peak_time TEXT,
    peak_celsius REAL,
    end_time TEXT,
    end_action TEXT,
    cooling TEXT,
    notes TEXT,
    intent TEXT,
    next_change TEXT,
    entered TEXT NOT NULL
) STRICT;

-- One log a file of a firing; a log read again points to the one it replaces. `times` tells what its times are: zoned-dates,
-- local-dates, time-of-day, elapsed; `units` the units it was written in.
CREATE TABLE temperature_logs (
    id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firings (id),
    file_name TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    times TEXT NOT NULL,
    units TEXT NOT NULL,
    replaces INTEGER UNIQUE REFERENCES temperature_logs (id),
    entered TEXT NOT NULL
) STRICT;

-- One row a time and probe: seconds since the first row, the time as written, degrees C; where there is no reading,
-- the word the logger wrote, if any. `line` is that of the file.
CREATE TABLE temperatures (
    log_id INTEGER NOT NULL REFERENCES temperature_logs (id),
    seconds REAL NOT NULL,
    probe_number INTEGER NOT NULL,
    probe TEXT NOT NULL,
    time TEXT NOT NULL,
    celsius REAL,
    no_reading TEXT,
    line INTEGER NOT NULL,
    PRIMARY KEY (log_id, seconds, probe_number)
) STRICT, WITHOUT ROWID;

CREATE TABLE pieces (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE CHECK (name <> ''),
    shape TEXT,
    size TEXT,
    state TEXT,
    soak_test TEXT,
    flaws TEXT,
    clay_id INTEGER REFERENCES recipes (id),
    slip_id INTEGER REFERENCES recipes (id),
    red_id INTEGER REFERENCES recipes (id),
    paint_id INTEGER REFERENCES recipes (id),
    notes TEXT,
    entered TEXT NOT NULL
) STRICT;

-- Which piece lay where in which firing; flaws are those seen after that firing.
CREATE TABLE loads (
    id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firings (id),
    piece_id INTEGER NOT NULL REFERENCES pieces (id),
    place TEXT,
    flaws TEXT,
    notes TEXT,
    entered TEXT NOT NULL,
    UNIQUE (firing_id, piece_id)
) STRICT;
CREATE INDEX loads_by_piece ON loads (piece_id);

-- A photograph is its bytes. Piece and firing are what the sheet, the file's name or the command line said.
CREATE TABLE photographs (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,
    file_name TEXT NOT NULL,
    folder TEXT,
    width INTEGER,
    height INTEGER,
    taken TEXT,
    exposure_seconds REAL,
    f_number REAL,
    iso REAL,
    piece_id INTEGER REFERENCES pieces (id),
    firing_id INTEGER REFERENCES firings (id),
    entered TEXT NOT NULL
) STRICT;
CREATE INDEX photographs_by_piece ON photographs (piece_id);
CREATE INDEX photographs_by_firing ON photographs (firing_id);

-- How photographs were read: the hash of all settings that bear on the result, and the version of the program.
CREATE TABLE settings (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL,
    version TEXT NOT NULL,
    UNIQUE (sha256, version)
) STRICT;

-- One row each time a photograph was read, with which settings. The pass that none replaces is the one that counts.
-- Where it could not be measured `error_code` says why, `failure` is the whole record of that (JSON), and there are no
-- readings.
CREATE TABLE passes (
    id INTEGER PRIMARY KEY,
    photograph_id INTEGER NOT NULL REFERENCES photographs (id),
    settings_id INTEGER NOT NULL REFERENCES settings (id),
    error_code TEXT,
    failure TEXT,
    replaces INTEGER UNIQUE REFERENCES passes (id),
    entered TEXT NOT NULL
) STRICT;
CREATE INDEX passes_by_photograph ON passes (photograph_id);

-- What the records are deflated against: plain text of an earlier record (RFC 1951; zlib calls it a preset dictionary).
CREATE TABLE record_references (
    id INTEGER PRIMARY KEY,
    text TEXT NOT NULL
) STRICT;

-- One row a piece in a photograph. Fractions run from 0 to 1, u95 are half-widths of 95 % intervals.
CREATE TABLE readings (
    id INTEGER PRIMARY KEY,
    pass_id INTEGER NOT NULL REFERENCES passes (id),
    piece_number INTEGER NOT NULL,
    grade TEXT NOT NULL,
    grade_because TEXT,
    faults_present TEXT,
    white_black_ratio REAL,
    white_black_ratio_u95 REAL,
    white_black_delta_l REAL,
    white_black_delta_l_u95 REAL,
    paint_kept REAL,
    paint_kept_u95 REAL,
    clouds REAL,
    light_source TEXT,
    targets TEXT,
    UNIQUE (pass_id, piece_number)
) STRICT;

-- The whole record of a reading as JSON, in a table of its own so that the others stay quick to look through: raw deflate
-- against the text of `reference_id`; bytes and sha256 are those of the plain text.
CREATE TABLE records (
    reading_id INTEGER PRIMARY KEY REFERENCES readings (id),
    record BLOB NOT NULL,
    bytes INTEGER NOT NULL,
    sha256 TEXT NOT NULL,
    reference_id INTEGER NOT NULL REFERENCES record_references (id)
) STRICT;

-- One row a surface of a reading: CIELAB for D50, CIE 1931 2 degree observer, with half-widths of 95 % intervals;
-- to_target is CIEDE2000 to the centre of the aim range, whiteness ASTM E313 where its limits hold.
CREATE TABLE surfaces (
    surface TEXT NOT NULL,
    reading_id INTEGER NOT NULL REFERENCES readings (id),
    area_fraction REAL NOT NULL,
    l REAL NOT NULL,
    a REAL NOT NULL,
    b REAL NOT NULL,
    u95_l REAL NOT NULL,
    u95_a REAL NOT NULL,
    u95_b REAL NOT NULL,
    to_target REAL,
    whiteness REAL,
    munsell TEXT,
    PRIMARY KEY (surface, reading_id)
) STRICT, WITHOUT ROWID;

-- Every change of a row that was entered before: what stood there and what stands there now. Written by the triggers below,
-- so that a change by any other program is kept as well. `replaces` is the change before of the same field; NULL: the
-- value that was entered first.
CREATE TABLE corrections (
    id INTEGER PRIMARY KEY,
    "table" TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    field TEXT NOT NULL,
    was ANY,
    now ANY,
    because TEXT,
    replaces INTEGER UNIQUE REFERENCES corrections (id),
    entered TEXT NOT NULL
) STRICT;
CREATE INDEX corrections_by_field ON corrections ("table", row_id, field);

CREATE TRIGGER recipes_corrected AFTER UPDATE ON recipes BEGIN
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'kind', old.kind, new.kind,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'kind'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.kind IS NOT new.kind;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'name', old.name, new.name,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'name'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.name IS NOT new.name;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'batch', old.batch, new.batch,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'batch'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.batch IS NOT new.batch;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'coats', old.coats, new.coats,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'coats'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.coats IS NOT new.coats;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'thickness', old.thickness, new.thickness,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'thickness'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.thickness IS NOT new.thickness;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'strength', old.strength, new.strength,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'strength'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.strength IS NOT new.strength;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'date', old.date, new.date,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'date'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.date IS NOT new.date;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'recipes', old.id, 'notes', old.notes, new.notes,
            (SELECT max(id) FROM corrections WHERE "table" = 'recipes' AND row_id = old.id AND field = 'notes'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.notes IS NOT new.notes;
END;
CREATE TRIGGER firings_corrected AFTER UPDATE ON firings BEGIN
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'name', old.name, new.name,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'name'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.name IS NOT new.name;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'date', old.date, new.date,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'date'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.date IS NOT new.date;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'place', old.place, new.place,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'place'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.place IS NOT new.place;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'fuel', old.fuel, new.fuel,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'fuel'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.fuel IS NOT new.fuel;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'weather', old.weather, new.weather,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'weather'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.weather IS NOT new.weather;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'cover', old.cover, new.cover,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'cover'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.cover IS NOT new.cover;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'pre_warm_minutes', old.pre_warm_minutes, new.pre_warm_minutes,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'pre_warm_minutes'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.pre_warm_minutes IS NOT new.pre_warm_minutes;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'start_time', old.start_time, new.start_time,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'start_time'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.start_time IS NOT new.start_time;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'peak_time', old.peak_time, new.peak_time,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'peak_time'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.peak_time IS NOT new.peak_time;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'peak_celsius', old.peak_celsius, new.peak_celsius,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'peak_celsius'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.peak_celsius IS NOT new.peak_celsius;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'end_time', old.end_time, new.end_time,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'end_time'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.end_time IS NOT new.end_time;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'end_action', old.end_action, new.end_action,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'end_action'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.end_action IS NOT new.end_action;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'cooling', old.cooling, new.cooling,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'cooling'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.cooling IS NOT new.cooling;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'notes', old.notes, new.notes,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'notes'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.notes IS NOT new.notes;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'intent', old.intent, new.intent,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'intent'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.intent IS NOT new.intent;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'firings', old.id, 'next_change', old.next_change, new.next_change,
            (SELECT max(id) FROM corrections WHERE "table" = 'firings' AND row_id = old.id AND field = 'next_change'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.next_change IS NOT new.next_change;
END;
CREATE TRIGGER pieces_corrected AFTER UPDATE ON pieces BEGIN
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'name', old.name, new.name,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'name'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.name IS NOT new.name;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'shape', old.shape, new.shape,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'shape'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.shape IS NOT new.shape;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'size', old.size, new.size,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'size'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.size IS NOT new.size;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'state', old.state, new.state,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'state'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.state IS NOT new.state;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'soak_test', old.soak_test, new.soak_test,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'soak_test'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.soak_test IS NOT new.soak_test;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'flaws', old.flaws, new.flaws,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'flaws'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.flaws IS NOT new.flaws;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'clay_id', old.clay_id, new.clay_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'clay_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.clay_id IS NOT new.clay_id;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'slip_id', old.slip_id, new.slip_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'slip_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.slip_id IS NOT new.slip_id;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'red_id', old.red_id, new.red_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'red_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.red_id IS NOT new.red_id;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'paint_id', old.paint_id, new.paint_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'paint_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.paint_id IS NOT new.paint_id;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'pieces', old.id, 'notes', old.notes, new.notes,
            (SELECT max(id) FROM corrections WHERE "table" = 'pieces' AND row_id = old.id AND field = 'notes'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.notes IS NOT new.notes;
END;
CREATE TRIGGER loads_corrected AFTER UPDATE ON loads BEGIN
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'loads', old.id, 'place', old.place, new.place,
            (SELECT max(id) FROM corrections WHERE "table" = 'loads' AND row_id = old.id AND field = 'place'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.place IS NOT new.place;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'loads', old.id, 'flaws', old.flaws, new.flaws,
            (SELECT max(id) FROM corrections WHERE "table" = 'loads' AND row_id = old.id AND field = 'flaws'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.flaws IS NOT new.flaws;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'loads', old.id, 'notes', old.notes, new.notes,
            (SELECT max(id) FROM corrections WHERE "table" = 'loads' AND row_id = old.id AND field = 'notes'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.notes IS NOT new.notes;
END;
CREATE TRIGGER photographs_corrected AFTER UPDATE ON photographs BEGIN
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'photographs', old.id, 'file_name', old.file_name, new.file_name,
            (SELECT max(id) FROM corrections WHERE "table" = 'photographs' AND row_id = old.id AND field = 'file_name'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.file_name IS NOT new.file_name;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'photographs', old.id, 'folder', old.folder, new.folder,
            (SELECT max(id) FROM corrections WHERE "table" = 'photographs' AND row_id = old.id AND field = 'folder'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.folder IS NOT new.folder;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'photographs', old.id, 'piece_id', old.piece_id, new.piece_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'photographs' AND row_id = old.id AND field = 'piece_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.piece_id IS NOT new.piece_id;
    INSERT INTO corrections ("table", row_id, field, was, now, replaces, entered)
        SELECT 'photographs', old.id, 'firing_id', old.firing_id, new.firing_id,
            (SELECT max(id) FROM corrections WHERE "table" = 'photographs' AND row_id = old.id AND field = 'firing_id'),
            strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
        WHERE old.firing_id IS NOT new.firing_id;
END;

-- Nothing is taken out, and what was measured is never changed.
CREATE TRIGGER recipes_stay BEFORE DELETE ON recipes BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER firings_stay BEFORE DELETE ON firings BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER temperature_logs_stay BEFORE DELETE ON temperature_logs BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER temperatures_stay BEFORE DELETE ON temperatures BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER pieces_stay BEFORE DELETE ON pieces BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER loads_stay BEFORE DELETE ON loads BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER photographs_stay BEFORE DELETE ON photographs BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER passes_stay BEFORE DELETE ON passes BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER record_references_stay BEFORE DELETE ON record_references BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER settings_stay BEFORE DELETE ON settings BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER readings_stay BEFORE DELETE ON readings BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER records_stay BEFORE DELETE ON records BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER surfaces_stay BEFORE DELETE ON surfaces BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER corrections_stay BEFORE DELETE ON corrections BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER temperature_logs_as_entered BEFORE UPDATE ON temperature_logs BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER temperatures_as_entered BEFORE UPDATE ON temperatures BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER record_references_as_entered BEFORE UPDATE ON record_references BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER settings_as_entered BEFORE UPDATE ON settings BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER readings_as_entered BEFORE UPDATE ON readings BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER records_as_entered BEFORE UPDATE ON records BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER surfaces_as_entered BEFORE UPDATE ON surfaces BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
-- A pass may learn later that it replaces an older one that came from another ledger; a correction may get its reason.
CREATE TRIGGER passes_as_entered BEFORE UPDATE ON passes
WHEN old.replaces IS NOT NULL OR old.id IS NOT new.id OR old.photograph_id IS NOT new.photograph_id
    OR old.settings_id IS NOT new.settings_id
    OR old.error_code IS NOT new.error_code OR old.failure IS NOT new.failure OR old.entered IS NOT new.entered BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER corrections_as_entered BEFORE UPDATE ON corrections
WHEN old.because IS NOT NULL OR old.id IS NOT new.id OR old."table" IS NOT new."table" OR old.row_id IS NOT new.row_id
    OR old.field IS NOT new.field OR old.was IS NOT new.was OR old.now IS NOT new.now
    OR old.replaces IS NOT new.replaces OR old.entered IS NOT new.entered BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;

-- For people with any SQLite client.
CREATE VIEW readings_that_count AS
SELECT r.*, p.photograph_id FROM readings r JOIN passes p ON p.id = r.pass_id
WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id);

CREATE VIEW pieces_at_a_glance AS
SELECT f.name AS firing, f.date, i.name AS piece, h.file_name AS photograph, r.piece_number, r.grade, r.faults_present,
    w.l AS white_l, w.u95_l AS white_l_u95, w.b AS white_b, w.u95_b AS white_b_u95, w.to_target AS white_to_target,
    k.l AS black_l, k.u95_l AS black_l_u95, d.l AS red_l, d.a AS red_a, d.b AS red_b,
    r.white_black_ratio, r.paint_kept, r.clouds, r.grade_because
FROM readings_that_count r
JOIN photographs h ON h.id = r.photograph_id
LEFT JOIN firings f ON f.id = h.firing_id
LEFT JOIN pieces i ON i.id = h.piece_id AND r.piece_number = 1
LEFT JOIN surfaces w ON w.surface = 'white' AND w.reading_id = r.id
LEFT JOIN surfaces k ON k.surface = 'black' AND k.reading_id = r.id
LEFT JOIN surfaces d ON d.surface = 'red' AND d.reading_id = r.id;
