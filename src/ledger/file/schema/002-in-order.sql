-- The ledger, version 2: for people with any SQLite client, every surface from firing to firing with the recipe that bears on
-- it. Frozen: a change of shape is a new file with the next number.

CREATE VIEW surfaces_in_order AS
SELECT s.surface, f.date, h.taken, f.name AS firing, i.name AS piece, k.name AS recipe, s.l, s.u95_l, s.a, s.u95_a, s.b,
    s.u95_b, s.to_target, s.whiteness, s.munsell, r.grade, h.file_name AS photograph
FROM surfaces s
JOIN readings_that_count r ON r.id = s.reading_id
JOIN photographs h ON h.id = r.photograph_id
LEFT JOIN firings f ON f.id = h.firing_id
LEFT JOIN pieces i ON i.id = h.piece_id AND r.piece_number = 1
LEFT JOIN recipes k ON k.id = CASE s.surface WHEN 'white' THEN i.slip_id WHEN 'red' THEN i.red_id
    WHEN 'black' THEN i.paint_id ELSE i.clay_id END
ORDER BY s.surface, f.date IS NULL, f.date, h.taken, h.file_name, r.piece_number;
