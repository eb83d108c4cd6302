//! The report's own number: a hash of the page, so that a change of any letter or picture shows.
//!
//! It is no signature: who changes a page can give it a new number. But a number written down, or sent apart, then no
//! longer fits.

use sha2::{Digest, Sha256};

/// What stands in the page in the places of the number while it is made.
pub(super) const WHOLE: &str = "@report-id@";
pub(super) const SHORT: &str = "@report-id-short@";
/// Before the number in the page's head.
const HEAD: &str = "<meta name=\"report-id\" content=\"";

/// The page with its number filled in.
pub(super) fn sealed(page: &str) -> String {
    let id = hash(page);
    page.replace(SHORT, &short(&id)).replace(WHOLE, &id)
}

/// The number that a page bears: 64 hexadecimal digits. `None`: it is no report.
pub(super) fn id_of(page: &str) -> Option<&str> {
    let (_, rest) = page.split_once(HEAD)?;
    let id = rest.get(..64)?;
    (rest[64..].starts_with('"') && id.bytes().all(|b| b.is_ascii_hexdigit())).then_some(id)
}

/// Whether the page is still the one that was given its number.
pub(super) fn is_as_made(page: &str) -> bool {
    id_of(page).is_some_and(|id| hash(&page.replace(id, WHOLE).replace(&short(id), SHORT)) == id)
}

/// The first twelve digits in three groups, as they stand on each printed page.
pub(super) fn short(id: &str) -> String {
    [0, 4, 8].map(|at| id.get(at..at + 4).unwrap_or_default()).join("-")
}

fn hash(page: &str) -> String {
    format!("{:x}", Sha256::digest(page.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_change_of_the_page_shows() {
        let page = format!("{HEAD}{WHOLE}\"><p>Report {SHORT} of {SHORT}, named {WHOLE}</p>");
        let made = sealed(&page);
        let id = id_of(&made).unwrap();
        assert_eq!(id, format!("{:x}", Sha256::digest(page.as_bytes())));
        assert_eq!(made.matches(id).count(), 2);
        assert_eq!(made.matches(&short(id)).count(), 2);
        assert!(is_as_made(&made));
        assert!(!is_as_made(&made.replace("Report", "report")));
        assert!(!is_as_made(&made.replacen(id, &"0".repeat(64), 1)));
        for other in [
            "",
            "<meta name=\"report-id\" content=\"",
            &format!("{HEAD}12\">"),
            &format!("{HEAD}é{}", "0".repeat(70)),
        ] {
            assert_eq!(id_of(other), None);
            assert!(!is_as_made(other));
        }
    }
}
