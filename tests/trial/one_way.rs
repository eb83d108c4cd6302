//! A published one-way analysis, for the comparison and for the page.

/// NIST/SEMATECH e-Handbook (doi 10.18434/M32189) 7.4.3, three groups of five (data and printed figures from memory).
pub fn one_way() -> String {
    let groups = [
        ("1", [6.9, 5.4, 5.8, 4.6, 4.0]),
        ("2", [8.3, 6.8, 7.8, 9.2, 6.5]),
        ("3", [8.0, 10.5, 8.1, 6.9, 9.3]),
    ];
    let rows = groups.iter().flat_map(|(slip, values)| values.map(|v| format!("{slip},{v}\n")));
    format!("slip,l\n{}", rows.collect::<String>())
}
