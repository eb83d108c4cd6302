//! Values, ranges and decisions in the words of a sentence.

use super::decide::{Estimate, Place};
use super::targets::{Quantity, Range};

/// `70 to 90`, `at least 70`, `at most 13`; shares in percent.
pub(super) fn range_words(quantity: Quantity, range: Range) -> String {
    let end = |value: f64| match quantity {
        Quantity::RetainedFraction | Quantity::AreaFraction => {
            format!("{} %", (value * 1000.0).round() / 10.0)
        }
        Quantity::Hue => format!("{value}°"),
        _ => value.to_string(),
    };
    match range {
        [Some(low), Some(high)] => format!("{} to {}", end(low), end(high)),
        [Some(low), None] => format!("at least {}", end(low)),
        [None, Some(high)] => format!("at most {}", end(high)),
        [None, None] => "anything".into(),
    }
}

/// `White L* 78.1 ± 3.2`, with as many digits as the value bears.
pub(super) fn value_words(surface: &str, quantity: Quantity, estimate: Estimate) -> String {
    let Estimate { value, u95, .. } = estimate;
    let name = capital(surface);
    match quantity {
        Quantity::Lightness => format!("{name} L* {value:.1} ± {u95:.1}"),
        Quantity::Chroma => format!("{name} chroma C* {value:.1} ± {u95:.1}"),
        Quantity::Hue => format!("{name} hue {value:.0}° ± {u95:.0}°"),
        Quantity::Evenness => format!("{name} uneven by {value:.1} ± {u95:.1} in L*"),
        Quantity::DeltaLightness => format!("White is lighter than black by {value:.1} ± {u95:.1} in L*"),
        Quantity::Ciede2000 => format!("White and black differ by CIEDE2000 {value:.1} ± {u95:.1}"),
        Quantity::ReflectanceRatio => {
            format!("White reflects {value:.1} ± {u95:.1} times as much light as black")
        }
        Quantity::RetainedFraction => {
            format!("{:.0} ± {:.0} % of the paint still reads black", value * 100.0, u95 * 100.0)
        }
        Quantity::AreaFraction => {
            format!("Fire clouds on {:.1} ± {:.1} % of the piece", value * 100.0, u95 * 100.0)
        }
    }
}

/// `inside`, `outside`, `across the limit of`.
pub(super) fn place_words(place: Place) -> &'static str {
    match place {
        Place::Inside => "inside",
        Place::Outside => "outside",
        Place::Across => "across the limit of",
    }
}

/// A probability as people say it: never 0 or 100 %.
pub(super) fn chance_words(chance: f64) -> String {
    match chance {
        p if p < 0.01 => "under 1 %".into(),
        p if p > 0.99 => "over 99 %".into(),
        p => format!("{:.0} %", p * 100.0),
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
