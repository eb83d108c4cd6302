-- The ledger, version 3: the swatches of test tiles, and what the plan of a trial says was laid at each place. Frozen: a change
-- of shape is a new file with the next number.

-- One row a swatch of a reading. `photo_row` and `photo_column` are counted in the photograph, `row` and `column` in the plan.
-- NULL where no plan was told, or the plan leaves the place free; the firing of a tile is that of its photograph.
CREATE TABLE swatches (
    reading_id INTEGER NOT NULL REFERENCES readings (id),
    photo_row INTEGER NOT NULL,
    photo_column INTEGER NOT NULL,
    name TEXT NOT NULL,
    trial TEXT,
    tile INTEGER,
    "row" INTEGER,
    "column" INTEGER,
    role TEXT,
    slip TEXT,
    paint TEXT,
    coats TEXT,
    l REAL,
    a REAL,
    b REAL,
    u95_l REAL,
    u95_a REAL,
    u95_b REAL,
    contrast_delta_l REAL,
    contrast_left REAL,
    retained REAL,
    stands_out INTEGER NOT NULL,
    left_out TEXT,
    PRIMARY KEY (reading_id, photo_row, photo_column)
) STRICT, WITHOUT ROWID;
CREATE INDEX swatches_by_trial ON swatches (trial, tile) WHERE trial IS NOT NULL;

CREATE TRIGGER swatches_stay BEFORE DELETE ON swatches BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;
CREATE TRIGGER swatches_as_entered BEFORE UPDATE ON swatches BEGIN
    SELECT raise(ABORT, 'the ledger keeps what was entered');
END;

-- Of each photograph the last reading that was made by a plan (a later one without a plan does not undo it), and of several
-- photographs of one tile of a trial the one that was read last.
CREATE VIEW tiles_that_count AS
WITH RECURSIVE
    planned AS (
        SELECT DISTINCT s.trial, s.tile, s.reading_id, r.pass_id, p.photograph_id, p.entered
        FROM swatches s JOIN readings r ON r.id = s.reading_id JOIN passes p ON p.id = r.pass_id
        WHERE s.trial IS NOT NULL),
    later (first, pass) AS (
        SELECT t.pass_id, p.id FROM planned t JOIN passes p ON p.replaces = t.pass_id
        UNION SELECT l.first, p.id FROM later l JOIN passes p ON p.replaces = l.pass),
    newest AS (
        SELECT * FROM planned
        WHERE pass_id NOT IN (SELECT l.first FROM later l JOIN planned n ON n.pass_id = l.pass))
SELECT a.trial, a.tile, a.reading_id, a.pass_id, a.photograph_id FROM newest a
WHERE NOT EXISTS (SELECT 1 FROM newest b WHERE b.trial = a.trial AND b.tile = a.tile
    AND (b.entered, b.pass_id) > (a.entered, a.pass_id));

-- For people with any SQLite client.
CREATE VIEW swatches_that_count AS
SELECT t.trial, t.tile, s."row", s."column", s.name, s.role, s.slip, s.paint, s.coats, f.name AS firing, s.l, s.u95_l, s.a,
    s.u95_a, s.b, s.u95_b, s.contrast_delta_l, s.contrast_left, s.retained, s.left_out, h.file_name AS photograph
FROM tiles_that_count t
JOIN swatches s ON s.reading_id = t.reading_id AND s.trial IS NOT NULL
JOIN photographs h ON h.id = t.photograph_id
LEFT JOIN firings f ON f.id = h.firing_id
ORDER BY t.trial, t.tile, s."row", s."column";
