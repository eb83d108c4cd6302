//! Words that have to fit: about how wide a text is, cut and wrapped.
//!
//! The reader's own fonts are not known here. Widths are those of common sans-serif faces, rather too wide than too
//! narrow (common practice).

/// Whether a character may stand in a chart: no control character, no mark that turns the direction of what follows,
/// nothing that XML 1.0 forbids.
pub(super) fn is_shown(letter: char) -> bool {
    let turns = matches!(letter, '\u{061C}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
    !letter.is_control() && !turns && !matches!(letter, '\u{FFFE}' | '\u{FFFF}')
}

/// Width of a letter over the size of the type.
fn share(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{a0}' => 0.33,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' | '"' => 0.42,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 0.97,
        '<' | '>' | '=' | '+' | '#' | '~' | '&' => 0.83,
        'A'..='Z' => 0.73,
        ' '..='~' => 0.63,
        // Marks that combine take no room of their own; a little is counted, so that none comes without end.
        '\u{0300}'..='\u{036F}' | '\u{200B}'..='\u{200D}' | '\u{FE00}'..='\u{FE0F}' => 0.15,
        // East Asian and pictures.
        '\u{1100}'..='\u{11FF}'
        | '\u{2E80}'..='\u{A4CF}'
        | '\u{AC00}'..='\u{D7AF}'
        | '\u{F900}'..='\u{FAFF}' => 1.05,
        '\u{FF00}'..='\u{FF60}' | '\u{1F000}'.. => 1.25,
        _ => 0.75,
    }
}

/// About how wide a text is, in pixels, for type of `size` pixels.
pub(super) fn width(text: &str, size: f64) -> f64 {
    size * text.chars().filter(|c| is_shown(*c)).map(share).sum::<f64>()
}

/// A text of `size` pixels cut to `room` pixels, by whole characters; what is cut ends in `…`.
pub(super) fn cut(text: &str, room: f64, size: f64) -> String {
    if width(text, size) <= room {
        return text.chars().filter(|c| is_shown(*c)).collect();
    }
    let mut left = room - width("…", size);
    let kept = text.chars().filter(|c| is_shown(*c)).take_while(|c| {
        left -= size * share(*c);
        left >= 0.0
    });
    let kept: String = kept.collect();
    format!("{}…", kept.trim_end())
}

/// Words in lines of at most `room` pixels; a word that is longer stands alone and is cut.
pub(in crate::report) fn wrapped(text: &str, room: f64, size: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        match lines.last_mut() {
            Some(line) if width(line, size) + size * share(' ') + width(word, size) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(cut(word, room, size)),
        }
    }
    lines
}

/// `1, 3 and 7`; of many the first ones and how many more.
pub(super) fn told(names: &[String], most: usize) -> String {
    match names {
        [] => "none".into(),
        [one] => one.clone(),
        [first @ .., last] if names.len() <= most => format!("{} and {last}", first.join(", ")),
        _ => format!("{} and {} more", names[..most].join(", "), names.len() - most),
    }
}
