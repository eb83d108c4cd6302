//! What several of these tests use.

/// Every element is closed in order (elements without content in HTML aside), and no attribute or
/// text holds a bare `<`.
pub fn balanced(markup: &str) {
    const EMPTY: [&str; 4] = ["img", "br", "meta", "input"];
    let mut open = Vec::new();
    for part in markup.split('<').skip(1) {
        let (tag, text) = part.split_once('>').unwrap_or_else(|| panic!("not closed: <{part}"));
        assert!(!text.contains('>'), "a bare > after <{tag}>: {text}");
        assert_eq!(tag.matches('"').count() % 2, 0, "<{tag}>");
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "</{name}>");
        } else if !tag.ends_with('/') && !EMPTY.contains(&name) {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{open:?}");
}
