//! Which Python exception each error of the core becomes. The core has written the words.

use bracewright::Error;
use pyo3::exceptions::PyOSError;
use pyo3::types::PyAnyMethods;
use pyo3::{PyErr, Python};

pyo3::import_exception!(bracewright.errors, InvalidInputError);
pyo3::import_exception!(bracewright.errors, ReadingsError);
pyo3::import_exception!(bracewright.errors, FitError);

/// Carries core and Python errors through `?` in one function (neither type is ours to write `From` for).
pub struct PyError(PyErr);

/// What every function of the binding returns.
pub type Result<T> = std::result::Result<T, PyError>;

impl From<Error> for PyError {
    fn from(e: Error) -> Self {
        let words = e.to_string();
        if let Error::AtPlace { x_mm, y_mm, .. } = e {
            return Self(Python::attach(|py| {
                let error = InvalidInputError::new_err(words);
                // an exception that cannot hold its place still says it in words
                let _ = error.value(py).setattr("x_mm", x_mm).and_then(|()| error.value(py).setattr("y_mm", y_mm));
                error
            }));
        }
        // no `_` arm: a new variant stops the build until someone says which exception it is
        Self(match e {
            Error::OutOfRange { .. }
            | Error::LengthMismatch { .. }
            | Error::BadList { .. }
            | Error::UnknownName { .. }
            | Error::AtPlace { .. }
            | Error::Refused(_) => InvalidInputError::new_err(words),
            Error::Unreadable { .. } | Error::Schema { .. } => ReadingsError::new_err(words),
            Error::NotIdentifiable { .. } => FitError::new_err(words),
        })
    }
}

impl From<PyErr> for PyError {
    fn from(e: PyErr) -> Self {
        Self(e)
    }
}

impl From<PyError> for PyErr {
    fn from(e: PyError) -> Self {
        e.0
    }
}

/// An input the binding itself refuses.
pub fn invalid(words: String) -> PyErr {
    InvalidInputError::new_err(words)
}

/// A file that cannot be opened: Python picks `FileNotFoundError` and its like by the number.
pub fn not_opened(path: &std::path::Path, e: &std::io::Error) -> PyErr {
    PyOSError::new_err((e.raw_os_error().unwrap_or(0), e.to_string(), path.display().to_string()))
}
