//! The checks that every table shares: a key that must be there, a word out of a list, a quantity, a file.

use std::cell::RefCell;
use std::fmt::Display;
use std::io;
use std::path::{Path, PathBuf};

use crate::files::Files;
use crate::plan::error::{Hint, PlanError};
use crate::plan::limits::Limits;
use crate::plan::reading::{Document, Typed, Written};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::text::{nearest, shorten};
use crate::units::Quantity;

/// Notes problems and remarks while the plan is resolved.
pub(super) struct Resolver<'d> {
    document: &'d Document,
    files: &'d Files,
    remarks: RefCell<Vec<Remark>>,
}

impl<'d> Resolver<'d> {
    pub(super) fn new(document: &'d Document, files: &'d Files) -> Self {
        Self {
            document,
            files,
            remarks: RefCell::default(),
        }
    }

    pub(super) fn into_remarks(self) -> Vec<Remark> {
        self.remarks.into_inner()
    }

    pub(super) fn remark(&self, remark: Remark) {
        self.remarks.borrow_mut().push(remark);
    }

    pub(super) fn note(&self, problem: PlanError) {
        self.document.note(problem);
    }

    pub(super) fn contradiction(
        &self,
        place: &Place,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.note(PlanError::Contradiction {
            place: place.clone(),
            what: what.into(),
            help: help.into(),
        });
    }

    pub(super) fn out_of_range(&self, place: &Place, found: impl Display, allowed: &'static str) {
        self.note(PlanError::OutOfRange {
            place: place.clone(),
            found: shorten(&found.to_string()),
            allowed,
        });
    }

    /// The value of a key that must be there.
    pub(super) fn required<'t, T>(
        &self,
        typed: &'t Typed<T>,
        table: &Place,
        key: &'static str,
        example: &'static str,
    ) -> Option<&'t Written<T>> {
        if !typed.is_written() {
            self.missing(table, key, example);
        }
        typed.given()
    }

    /// Notes that a table lacks a key.
    pub(super) fn missing(&self, table: &Place, key: &'static str, example: &'static str) {
        let path = table
            .key
            .as_ref()
            .map_or_else(|| key.to_owned(), |path| format!("{path}.{key}"));
        let place = table.clone().at_row(table.row.unwrap_or(1)).at_key(path);
        self.note(PlanError::Missing {
            place,
            key,
            example,
        });
    }

    /// One word out of a list.
    pub(super) fn word<T: Copy>(
        &self,
        typed: &Typed<String>,
        what: &'static str,
        words: &[(&str, T)],
    ) -> Option<T> {
        let written = typed.given()?;
        let found = words
            .iter()
            .find(|(word, _)| *word == written.value)
            .map(|(_, meaning)| *meaning);
        if found.is_none() {
            let names = || words.iter().map(|(word, _)| *word);
            self.note(PlanError::NotAllowed {
                place: written.place.clone(),
                found: shorten(&written.value),
                what,
                hint: Hint::from(nearest(&written.value, names())),
                allowed: names().collect::<Vec<_>>().join(", "),
            });
        }
        found
    }

    /// A quantity with its unit.
    pub(super) fn quantity<Q: Quantity>(&self, typed: &Typed<String>) -> Option<Q> {
        self.quantity_in(typed.given()?)
    }

    /// A quantity with its unit.
    pub(super) fn quantity_in<Q: Quantity>(&self, written: &Written<String>) -> Option<Q> {
        Q::parse(&written.value)
            .map_err(|cause| {
                self.note(PlanError::Unit {
                    place: written.place.clone(),
                    cause,
                });
            })
            .ok()
    }

    /// A quantity of more than zero.
    pub(super) fn positive<Q: Quantity>(&self, typed: &Typed<String>) -> Option<Q> {
        self.positive_in(typed.given()?)
    }

    /// A quantity of more than zero.
    pub(super) fn positive_in<Q: Quantity>(&self, written: &Written<String>) -> Option<Q> {
        let quantity: Q = self.quantity_in(written)?;
        if quantity.stored() <= 0.0 {
            self.out_of_range(&written.place, &written.value, "more than 0");
            return None;
        }
        Some(quantity)
    }

    /// A quantity that is possible.
    pub(super) fn within<Q: Quantity>(
        &self,
        typed: &Typed<String>,
        limits: &Limits<Q>,
    ) -> Option<Q> {
        self.within_in(typed.given()?, limits)
    }

    /// A quantity that is possible.
    pub(super) fn within_in<Q: Quantity>(
        &self,
        written: &Written<String>,
        limits: &Limits<Q>,
    ) -> Option<Q> {
        let quantity: Q = self.quantity_in(written)?;
        if !limits.allow(quantity) {
            self.out_of_range(&written.place, &written.value, limits.words);
            return None;
        }
        Some(quantity)
    }

    /// A quantity of zero or more.
    pub(super) fn not_negative<Q: Quantity>(&self, typed: &Typed<String>) -> Option<Q> {
        self.not_negative_in(typed.given()?)
    }

    /// A quantity of zero or more.
    pub(super) fn not_negative_in<Q: Quantity>(&self, written: &Written<String>) -> Option<Q> {
        let quantity: Q = self.quantity_in(written)?;
        if quantity.stored() < 0.0 {
            self.out_of_range(&written.place, &written.value, "0 or more");
            return None;
        }
        Some(quantity)
    }

    /// The path of a file that must be named and must be there, relative to the plan.
    pub(super) fn required_file(
        &self,
        typed: &Typed<String>,
        table: &Place,
        example: &'static str,
    ) -> Option<PathBuf> {
        let written = self.required(typed, table, "file", example)?;
        let path = PathBuf::from(&written.value);
        let Err(cause) = self.files.size(&path) else {
            return Some(path);
        };
        self.note(if is_something_else(&cause) {
            PlanError::NotAPlainFile {
                place: written.place.clone(),
                path: shorten(&written.value),
                cause: cause.to_string(),
            }
        } else {
            PlanError::NoSuchFile {
                place: written.place.clone(),
                path: shorten(&written.value),
                hint: Hint::from(self.neighbour_of(&path).as_deref()),
            }
        });
        None
    }

    /// A file of nearly the same name in the same folder.
    fn neighbour_of(&self, path: &Path) -> Option<String> {
        let names = self.files.names_beside(path);
        nearest(
            path.file_name()?.to_str()?,
            names.iter().map(String::as_str),
        )
        .map(str::to_owned)
    }
}

/// Whether there is something of that name, but not a file.
fn is_something_else(cause: &io::Error) -> bool {
    matches!(
        cause.kind(),
        io::ErrorKind::IsADirectory | io::ErrorKind::InvalidInput
    )
}
