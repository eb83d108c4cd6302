//! Fields of firings, recipes and pieces as options: made from their tables, so that a new field needs no line here.

use clap::{Arg, ArgMatches, Args, FromArgMatches};
use sherdlight::ledger::{FIRINGS, Field, Holds, Kind, PIECES, RECIPES};

/// A kind of entry whose fields become options.
pub trait Fields: std::fmt::Debug + Clone + Send + Sync + 'static {
    /// Its table of fields.
    const KIND: &'static Kind;
    /// Options that are no fields.
    const MORE: &'static [(&'static str, &'static str)];
}

/// Firings.
#[derive(Debug, Clone)]
pub struct Firings;
impl Fields for Firings {
    const KIND: &'static Kind = &FIRINGS;
    const MORE: &'static [(&'static str, &'static str)] = &[];
}

/// Recipes.
#[derive(Debug, Clone)]
pub struct Recipes;
impl Fields for Recipes {
    const KIND: &'static Kind = &RECIPES;
    const MORE: &'static [(&'static str, &'static str)] =
        &[("kind", "Which it is: clay, slip, red or paint")];
}

/// Pieces.
#[derive(Debug, Clone)]
pub struct Pieces;
impl Fields for Pieces {
    const KIND: &'static Kind = &PIECES;
    const MORE: &'static [(&'static str, &'static str)] = &[
        ("firing", "The firing it lay in: place, flaws and notes are then those of that firing"),
        ("place", "With --firing: where it lay in the fire"),
    ];
}

/// What was typed for the fields of a kind, as typed.
#[derive(Debug, Clone)]
pub struct Told<K: Fields> {
    /// Fields in the order of their table.
    pub fields: Vec<(&'static Field, String)>,
    /// Options that are no fields.
    pub more: Vec<(&'static str, String)>,
    kind: std::marker::PhantomData<K>,
}

impl<K: Fields> Told<K> {
    /// An option that is no field.
    pub fn more(&self, word: &str) -> Option<&str> {
        self.more.iter().find(|(known, _)| *known == word).map(|(_, value)| value.as_str())
    }
}

impl<K: Fields> FromArgMatches for Told<K> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let typed = |word: &str| matches.get_one::<String>(word).cloned();
        let fields = K::KIND.fields.iter().filter_map(|field| Some((field, typed(field.word)?))).collect();
        let more = K::MORE.iter().filter_map(|(word, _)| Some((*word, typed(word)?))).collect();
        Ok(Self { fields, more, kind: std::marker::PhantomData })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl<K: Fields> Args for Told<K> {
    fn augment_args(command: clap::Command) -> clap::Command {
        let more = K::MORE.iter().map(|(word, help)| option(word, "WORDS", help));
        let fields = K::KIND.fields.iter().map(|field| {
            let value = match field.holds {
                Holds::Number(..) => "N",
                Holds::Date => "DATE",
                Holds::Time => "TIME",
                Holds::State => "STATE",
                Holds::Recipe(_) => "NAME",
                Holds::Words => "WORDS",
            };
            option(field.word, value, field.help)
        });
        command.args(more).args(fields)
    }

    fn augment_args_for_update(command: clap::Command) -> clap::Command {
        Self::augment_args(command)
    }
}

fn option(word: &'static str, value: &'static str, help: &'static str) -> Arg {
    Arg::new(word).long(word).value_name(value).help(help).allow_hyphen_values(true)
}
