//! Several errors as one.

use std::fmt;
use std::ops::{Deref, DerefMut};

/// Everything that is wrong, so that one run shows all there is to correct: a list that is also an error, for `?`.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorList<T>(Vec<T>);

impl<T> ErrorList<T> {
    /// `value` where nothing is wrong.
    ///
    /// # Errors
    /// The list itself, unless it is empty.
    pub(crate) fn or<V>(self, value: V) -> Result<V, Self> {
        if self.is_empty() { Ok(value) } else { Err(self) }
    }
}

impl<T: fmt::Display> fmt::Display for ErrorList<T> {
    /// One error to a line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.iter().enumerate() {
            write!(f, "{}{error}", if i == 0 { "" } else { "\n" })?;
        }
        Ok(())
    }
}

impl<T: fmt::Debug + fmt::Display> std::error::Error for ErrorList<T> {}

impl<T> Default for ErrorList<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> From<T> for ErrorList<T> {
    fn from(error: T) -> Self {
        Self(vec![error])
    }
}

impl<T> FromIterator<T> for ErrorList<T> {
    fn from_iter<I: IntoIterator<Item = T>>(errors: I) -> Self {
        Self(errors.into_iter().collect())
    }
}

impl<T> IntoIterator for ErrorList<T> {
    type Item = T;
    type IntoIter = std::vec::IntoIter<T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'l, T> IntoIterator for &'l ErrorList<T> {
    type Item = &'l T;
    type IntoIter = std::slice::Iter<'l, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<T> Deref for ErrorList<T> {
    type Target = Vec<T>;

    fn deref(&self) -> &Self::Target {
        &self.0
    }
}

impl<T> DerefMut for ErrorList<T> {
    fn deref_mut(&mut self) -> &mut Self::Target {
        &mut self.0
    }
}
