//! From the text of a target file to ranges, or to all its faults.

use super::node::Node;
use super::quantity::surfaces;
use super::{COLOURED, ILLUMINANT, OBSERVER, Quantity, Range, Target, TargetFault, Targets, check};
use std::collections::BTreeMap;

const FIELDS: [&str; 7] = ["id", "name", "note", "illuminant", "observer", "values", "aim_colours"];
const VALUE_FIELDS: [&str; 6] = ["surface", "value", "unit", "aim", "accept", "fully_off"];

/// Reads and checks the text; the hash is left empty.
pub(super) fn read(text: &str) -> Result<Targets, Vec<TargetFault>> {
    let node = Node::parse(text).map_err(|fault| vec![fault])?;
    let mut reader = Reader { faults: Vec::new() };
    let targets = reader.targets(&node);
    match targets {
        Some(targets) if reader.faults.is_empty() => Ok(targets),
        _ => Err(reader.faults),
    }
}

struct Reader {
    faults: Vec<TargetFault>,
}

/// Fields of an object by name; those given twice and unknown ones have been told.
type Fields<'a> = BTreeMap<&'a str, &'a Node>;

impl Reader {
    fn fault(&mut self, field: impl Into<String>, reason: impl Into<String>) {
        self.faults.push(TargetFault::new(field, reason));
    }

    fn targets(&mut self, node: &Node) -> Option<Targets> {
        let fields = self.fields(node, "", &FIELDS)?;
        let mut words = |name: &str| self.words(&fields, name, name);
        let [id, name, note] = ["id", "name", "note"].map(&mut words);
        for (name, wanted) in [("illuminant", ILLUMINANT), ("observer", OBSERVER)] {
            if let Some(is) = self.words(&fields, name, name)
                && is != wanted
            {
                self.fault(name, format!("must be '{wanted}', is '{is}'"));
            }
        }
        let values = self.values(&fields);
        let aim_colours = fields.get("aim_colours").map(|node| self.colours(node)).unwrap_or_default();
        Some(Targets {
            id: id?,
            name: name?,
            note: note?,
            illuminant: ILLUMINANT.into(),
            observer: OBSERVER.into(),
            values,
            aim_colours,
            sha256: String::new(),
        })
    }

    fn fields<'a>(&mut self, node: &'a Node, at: &str, known: &[&str]) -> Option<Fields<'a>> {
        let Node::Fields(list) = node else {
            self.fault(at, format!("must be fields in braces, is {}", node.kind()));
            return None;
        };
        let mut fields = Fields::new();
        for (name, node) in list {
            let field = if at.is_empty() { name.clone() } else { format!("{at}.{name}") };
            if !known.contains(&name.as_str()) {
                self.fault(field, format!("is no field of a target file; known here: {}", known.join(", ")));
            } else if fields.insert(name, node).is_some() {
                self.fault(field, "is given twice");
            }
        }
        Some(fields)
    }

    /// Words that must be there.
    fn words(&mut self, fields: &Fields, name: &str, at: &str) -> Option<String> {
        match fields.get(name) {
            None => self.fault(at, "is missing"),
            Some(Node::Text(text)) if !text.trim().is_empty() => return Some(text.clone()),
            Some(Node::Text(_)) => self.fault(at, "is empty; words are wanted"),
            Some(node) => self.fault(at, format!("must be text in quotes, is {}", node.kind())),
        }
        None
    }

    fn values(&mut self, fields: &Fields) -> Vec<Target> {
        let list = match fields.get("values") {
            Some(Node::List(list)) if !list.is_empty() => list,
            Some(Node::List(_)) => {
                self.fault("values", "holds no range");
                return Vec::new();
            }
            Some(node) => {
                self.fault("values", format!("must be a list in brackets, is {}", node.kind()));
                return Vec::new();
            }
            None => {
                self.fault("values", "is missing");
                return Vec::new();
            }
        };
        let mut values: Vec<Target> = Vec::new();
        let mut seen: Vec<(usize, String, Quantity)> = Vec::new();
        for (i, node) in list.iter().enumerate() {
            let at = place(i + 1, node);
            let Some((target, whole)) = self.value(node, &at) else { continue };
            let twin =
                seen.iter().find(|(_, surface, value)| *surface == target.surface && *value == target.value);
            if let Some((first, ..)) = twin {
                self.fault(&at, format!("the same value is given as values[{first}] already"));
            }
            seen.push((i + 1, target.surface.clone(), target.value));
            if whole {
                for (field, reason) in check::check(&target) {
                    self.fault(format!("{at}.{field}"), reason);
                }
                values.push(target);
            }
        }
        values
    }

    /// One value, and whether both its ranges could be read; `None` where it is not known what it is.
    fn value(&mut self, node: &Node, at: &str) -> Option<(Target, bool)> {
        let fields = self.fields(node, at, &VALUE_FIELDS)?;
        let surface = self.words(&fields, "surface", &format!("{at}.surface")).filter(|name| {
            let known = surfaces();
            let good = known.contains(&name.as_str());
            if !good {
                let reason = format!("there is no surface '{name}'; known: {}", known.join(", "));
                self.fault(format!("{at}.surface"), reason);
            }
            good
        });
        let value = self.words(&fields, "value", &format!("{at}.value"));
        let value = value.and_then(|name| self.quantity(&name, surface.as_deref(), at));
        self.unit(&fields, value, at);
        let aim = self.range(&fields, "aim", at);
        let accept = self.range(&fields, "accept", at);
        let fully_off = match fields.get("fully_off") {
            None | Some(Node::Null) => Some(None),
            Some(node) => self.number(node, &format!("{at}.fully_off"), "or null for none").map(Some),
        };
        let (surface, value) = (surface?, value?);
        let whole = aim.is_some() && accept.is_some() && fully_off.is_some();
        let [aim, accept] = [aim, accept].map(|range| range.unwrap_or([None, None]));
        Some((Target { surface, value, aim, accept, fully_off: fully_off.flatten() }, whole))
    }

    /// The quantity of a name, if the surface has it.
    fn quantity(&mut self, name: &str, surface: Option<&str>, at: &str) -> Option<Quantity> {
        let names = |fits: &dyn Fn(Quantity) -> bool| -> String {
            Quantity::all().filter(|q| fits(*q)).map(Quantity::name).collect::<Vec<_>>().join(", ")
        };
        let Some(quantity) = Quantity::from_name(name) else {
            let reason = format!("there is no value '{name}'; known: {}", names(&|_| true));
            self.fault(format!("{at}.value"), reason);
            return None;
        };
        let Some(surface) = surface else { return Some(quantity) };
        if !quantity.surfaces().contains(&surface) {
            let reason =
                format!("{surface} has no {name}; it has {}", names(&|q| q.surfaces().contains(&surface)));
            self.fault(format!("{at}.value"), reason);
            return None;
        }
        Some(quantity)
    }

    /// Every value states its unit, so that a number is never taken for another scale's.
    fn unit(&mut self, fields: &Fields, value: Option<Quantity>, at: &str) {
        let at = format!("{at}.unit");
        match (fields.get("unit"), value) {
            (None, Some(quantity)) => {
                self.fault(at, format!("is missing; write \"unit\": \"{}\"", quantity.unit()));
            }
            (None, None) => self.fault(at, "is missing"),
            (Some(Node::Text(unit)), Some(quantity)) if unit == quantity.unit() => {}
            (Some(node), Some(quantity)) => {
                let reason = format!(
                    "{} is stated in \"{}\", not in {}",
                    quantity.name(),
                    quantity.unit(),
                    node.kind()
                );
                self.fault(at, reason);
            }
            (Some(_), None) => {}
        }
    }

    fn range(&mut self, fields: &Fields, name: &str, at: &str) -> Option<Range> {
        let at = format!("{at}.{name}");
        let wanted = "two ends in brackets are wanted, null for an open one, such as [30, 52] or [72, null]";
        match fields.get(name) {
            None => {
                self.fault(at, format!("is missing; {wanted}"));
                None
            }
            Some(Node::List(ends)) if ends.len() == 2 => {
                let mut end = |node: &Node| match node {
                    Node::Null => Some(None),
                    node => self.number(node, &at, "or null for an open end").map(Some),
                };
                let (low, high) = (end(&ends[0]), end(&ends[1]));
                Some([low?, high?])
            }
            Some(node) => {
                self.fault(at, format!("{wanted}; is {}. Decimals take a point", node.kind()));
                None
            }
        }
    }

    fn number(&mut self, node: &Node, at: &str, or: &str) -> Option<f64> {
        match node {
            Node::Number(number) => return Some(*number),
            Node::NoNumber(word) => self.fault(at, format!("{word} is no number; write a number, {or}")),
            node => self.fault(at, format!("must be a number, {or}; is {}", node.kind())),
        }
        None
    }

    fn colours(&mut self, node: &Node) -> BTreeMap<String, [f64; 3]> {
        let mut colours = BTreeMap::new();
        let Some(fields) = self.fields(node, "aim_colours", &COLOURED) else { return colours };
        for (surface, node) in fields {
            let at = format!("aim_colours.{surface}");
            let numbers: Vec<Option<f64>> = match node {
                Node::List(list) if list.len() == 3 => {
                    list.iter().map(|node| self.number(node, &at, "three in all")).collect()
                }
                node => {
                    let reason = format!("L*, a* and b* are wanted, such as [80, 1, 8]; is {}", node.kind());
                    self.fault(&at, reason);
                    continue;
                }
            };
            let [Some(l), Some(a), Some(b)] = numbers[..] else { continue };
            if !(0.0..=100.0).contains(&l) || a.abs() > 150.0 || b.abs() > 150.0 {
                self.fault(&at, format!("no possible colour of a surface: L* {l}, a* {a}, b* {b}"));
            }
            colours.insert(surface.into(), [l, a, b]);
        }
        colours
    }
}

/// `values[2] (white chroma)`: its number from 1, and what it says it is.
fn place(number: usize, node: &Node) -> String {
    let word = |name: &str| match node {
        Node::Fields(list) => list.iter().find_map(|(field, node)| match node {
            Node::Text(text) if field == name => Some(text.as_str()),
            _ => None,
        }),
        _ => None,
    };
    let named: Vec<&str> = ["surface", "value"].into_iter().filter_map(word).collect();
    match named.as_slice() {
        [] => format!("values[{number}]"),
        named => format!("values[{number}] ({})", named.join(" ")),
    }
}
