//! What every value of the package shares: pickle and copies, attributes, a line in a terminal, a table in a notebook.

use std::fmt::Write;
use std::hash::{Hash, Hasher};

use numpy::PyArray1;
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::error::{PyError, Result};

/// A core value on its way out.
pub trait ToPython {
    /// As a Python object: numbers, numpy arrays, texts, lists, tuples, or the twin of a core value.
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>>;
    /// Short, for one line.
    fn shown(&self) -> String;
    /// The numbers of a column, where it is one.
    fn column(&self) -> Option<&[f64]> {
        None
    }
}

/// At most six significant digits, no needless zeros.
pub fn short(v: f64) -> String {
    if v == 0.0 || !v.is_finite() {
        return format!("{v}");
    }
    let size = v.abs().log10().floor() as i32;
    if !(-5..9).contains(&size) {
        return format!("{v:.4e}");
    }
    let text = format!("{v:.*}", (5 - size).max(0) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

macro_rules! plain {
    ($($kind:ty, $shown:expr;)*) => {$(
        impl ToPython for $kind {
            fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                self.clone().into_bound_py_any(py)
            }
            fn shown(&self) -> String {
                let shown: fn(&$kind) -> String = $shown;
                shown(self)
            }
        }
    )*};
}

plain! {
    f64, |v| short(*v);
    bool, |v| if *v { "True".into() } else { "False".into() };
    usize, |v| v.to_string();
    u32, |v| v.to_string();
    u64, |v| v.to_string();
    i32, |v| v.to_string();
    i64, |v| v.to_string();
    String, |v| format!("{v:?}");
    Vec<String>, |v| format!("{v:?}");
    Vec<usize>, |v| format!("{v:?}");
    Vec<Vec<f64>>, |v| format!("<{} lists>", v.len());
    Vec<(f64, f64)>, |v| format!("<{} pairs>", v.len());
    Vec<Vec<(f64, f64)>>, |v| format!("<{} lines>", v.len());
    [f64; 3], |v| format!("[{}, {}, {}]", short(v[0]), short(v[1]), short(v[2]));
    (f64, f64), |v| format!("({}, {})", short(v.0), short(v.1));
    Vec<(String, f64)>, |v| v.iter().map(|(n, a)| format!("{n}: {}", short(*a))).collect::<Vec<_>>().join(", ");
    Vec<(String, f64, f64)>, |v| v.iter().map(|(n, a, b)| format!("{n}: {} to {}", short(*a), short(*b))).collect::<Vec<_>>().join(", ");
}

impl ToPython for Vec<f64> {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(PyArray1::from_slice(py, self).into_any())
    }
    fn shown(&self) -> String {
        match self.as_slice() {
            [] => "[]".into(),
            few if few.len() <= 3 => format!("[{}]", few.iter().map(|v| short(*v)).collect::<Vec<_>>().join(", ")),
            many => format!("[{} .. {}, {} values]", short(many[0]), short(many[many.len() - 1]), many.len()),
        }
    }
    fn column(&self) -> Option<&[f64]> {
        Some(self)
    }
}

impl<T: ToPython> ToPython for Option<T> {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        match self {
            Some(v) => v.to_python(py),
            None => Ok(py.None().into_bound(py)),
        }
    }
    fn shown(&self) -> String {
        self.as_ref().map_or("None".into(), ToPython::shown)
    }
}

/// One named attribute, for printing.
pub struct Shown<'a> {
    /// Its name, with the unit.
    pub name: &'static str,
    /// Short, for one line.
    pub text: String,
    /// The numbers of a column, where it is one.
    pub column: Option<&'a [f64]>,
}

/// Most characters of one attribute on a line; sentences are read in `words`, or by printing a report.
const LINE: usize = 100;

/// `Bend(x_mm=[200], deflection_mm=[1.93])`.
pub fn line(name: &str, fields: &[Shown<'_>]) -> String {
    let cut = |text: &str| match text.char_indices().nth(LINE) {
        Some((end, _)) => format!("{} ...", &text[..end]),
        None => text.to_string(),
    };
    let list: Vec<_> = fields.iter().map(|f| format!("{}={}", f.name, cut(&f.text))).collect();
    format!("{name}({})", list.join(", "))
}

/// Most rows of a table that are shown in a notebook.
const ROWS: usize = 12;

/// A small table for a notebook: attributes one under the other; columns side by side, thinned to a dozen rows.
pub fn html(name: &str, fields: &[Shown<'_>]) -> String {
    let mut out = format!("<table><caption>{}</caption>", escape(name));
    for f in fields.iter().filter(|f| f.column.is_none()) {
        let _ = write!(out, "<tr><th>{}</th><td>{}</td></tr>", f.name, escape(f.text.trim_matches('"')));
    }
    out.push_str("</table>");
    let columns: Vec<_> = fields.iter().filter_map(|f| f.column.map(|c| (f.name, c))).collect();
    let rows = columns.iter().map(|c| c.1.len()).max().unwrap_or(0);
    if rows > 0 {
        out.push_str("<table><tr>");
        columns.iter().for_each(|c| out.push_str(&format!("<th>{}</th>", c.0)));
        out.push_str("</tr>");
        let shown = rows.min(ROWS);
        for k in 0..shown {
            let i = if shown == rows { k } else { (k * (rows - 1) + (shown - 1) / 2) / (shown - 1) };
            out.push_str("<tr>");
            columns.iter().for_each(|c| out.push_str(&format!("<td>{}</td>", c.1.get(i).map_or(String::new(), |v| short(*v)))));
            out.push_str("</tr>");
        }
        out.push_str("</table>");
        if shown < rows {
            let _ = write!(out, "<small>{shown} of {rows} rows</small>");
        }
    }
    out
}

/// Text as HTML.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// The columns of a dict as a pandas table; pandas is imported only here.
pub fn pandas<'py>(py: Python<'py>, columns: &Bound<'py, PyDict>) -> PyResult<Bound<'py, PyAny>> {
    py.import("pandas")?.call_method1("DataFrame", (columns,))
}

/// A list of twins.
pub fn list<'py, T: ToPython>(py: Python<'py>, values: &[T]) -> PyResult<Bound<'py, PyAny>> {
    let all = values.iter().map(|v| v.to_python(py)).collect::<PyResult<Vec<_>>>()?;
    Ok(PyList::new(py, all)?.into_any())
}

/// The state of a value as a pickle carries it.
pub fn state<T: serde::Serialize>(value: &T) -> Result<String> {
    serde_json::to_string(value).map_err(|e| bracewright::Error::Refused(format!("this value cannot be written: {e}")).into())
}

/// The value of a state.
pub fn restored<T: serde::de::DeserializeOwned>(name: &str, state: &str) -> Result<T> {
    let unreadable =
        |e: serde_json::Error| bracewright::Error::Unreadable { place: format!("state of a {name}"), problem: e.to_string() };
    serde_json::from_str(state).map_err(|e| PyError::from(unreadable(e)))
}

/// A hash that goes with equality: equal values have equal states, and 0 and -0 count as the same.
pub fn hash<T: serde::Serialize>(value: &T) -> Result<u64> {
    let state = serde_json::to_value(value)
        .map_err(|e| PyError::from(bracewright::Error::Refused(format!("this value cannot be hashed: {e}"))))?;
    let mut hasher = std::hash::DefaultHasher::new();
    feed(&state, &mut hasher);
    Ok(hasher.finish())
}

fn feed(state: &serde_json::Value, hasher: &mut impl Hasher) {
    use serde_json::Value;
    match state {
        Value::Null => hasher.write_u8(0),
        Value::Bool(b) => hasher.write_u8(1 + u8::from(*b)),
        Value::Number(n) => hasher.write_u64((n.as_f64().unwrap_or(0.0) + 0.0).to_bits()),
        Value::String(s) => s.hash(hasher),
        Value::Array(all) => {
            hasher.write_usize(all.len());
            all.iter().for_each(|v| feed(v, hasher));
        }
        Value::Object(all) => all.iter().for_each(|(name, v)| {
            name.hash(hasher);
            feed(v, hasher);
        }),
    }
}

/// Makes a newtype a value: hash, pickle, copies (it is frozen: itself), and the way out for the core type it wraps.
macro_rules! value {
    ($twin:ident, $core:ty, $name:literal) => {
        #[pymethods]
        impl $twin {
            fn __reduce__<'py>(slf: &Bound<'py, Self>) -> $crate::error::Result<(Bound<'py, PyAny>, (String,))> {
                Ok((slf.get_type().getattr("_restored")?, ($crate::value::state(&slf.get().0)?,)))
            }

            #[staticmethod]
            fn _restored(state: &str) -> $crate::error::Result<Self> {
                $crate::value::restored($name, state).map(Self)
            }

            fn __hash__(&self) -> $crate::error::Result<u64> {
                $crate::value::hash(&self.0)
            }

            fn __copy__(slf: Bound<'_, Self>) -> Bound<'_, Self> {
                slf
            }

            fn __deepcopy__<'py>(slf: Bound<'py, Self>, _memo: &Bound<'py, PyAny>) -> Bound<'py, Self> {
                slf
            }
        }

        $crate::value::outward!($twin, $core, concat!("<", $name, ">"));
    };
}

/// The way out for a core type.
macro_rules! outward {
    ($twin:ident, $core:ty, $shown:expr) => {
        impl $crate::value::ToPython for $core {
            fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                Ok(Bound::new(py, $twin(self.clone()))?.into_any())
            }
            fn shown(&self) -> String {
                $shown.into()
            }
        }

        impl $crate::value::ToPython for Vec<$core> {
            fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                $crate::value::list(py, self)
            }
            fn shown(&self) -> String {
                format!("[{} x {}]", self.len(), $shown)
            }
        }
    };
}

/// A core struct with public fields as a Python class: its fields as attributes, `to_dict`, a line and a small table;
/// with `table columns` after it, the table of the notebook and of pandas is what that function makes of the value.
macro_rules! record {
    ($(#[$about:meta])* $twin:ident, $name:tt, $core:ty { $($(#[$doc:meta])* $field:ident;)* }) => {
        $crate::value::record!(@fields $(#[$about])* $twin, $name, $core { $($(#[$doc])* $field;)* });

        #[pymethods]
        impl $twin {
            fn _repr_html_(&self) -> String {
                $crate::value::html($name, &self.shown())
            }
        }
    };
    ($(#[$about:meta])* $twin:ident, $name:tt, $core:ty { $($(#[$doc:meta])* $field:ident;)* } table $columns:path) => {
        $crate::value::record!(@fields $(#[$about])* $twin, $name, $core { $($(#[$doc])* $field;)* });

        #[pymethods]
        impl $twin {
            /// The list it holds as a pandas table, one row each; needs pandas.
            fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                let table = pyo3::types::PyDict::new(py);
                for (name, numbers) in $columns(&self.0) {
                    table.set_item(name, numpy::PyArray1::from_vec(py, numbers))?;
                }
                $crate::value::pandas(py, &table)
            }

            fn _repr_html_(&self) -> String {
                let columns = $columns(&self.0);
                let mut shown = self.shown();
                shown.extend(columns.iter().map(|(name, c)| $crate::value::Shown { name, text: String::new(), column: Some(c) }));
                $crate::value::html($name, &shown)
            }
        }
    };
    (@fields $(#[$about:meta])* $twin:ident, $name:tt, $core:ty { $($(#[$doc:meta])* $field:ident;)* }) => {
        $(#[$about])*
        #[pyclass(frozen, eq, name = $name, module = "bracewright")]
        #[derive(Debug, Clone, PartialEq)]
        pub struct $twin(pub $core);

        impl $twin {
            fn shown(&self) -> Vec<$crate::value::Shown<'_>> {
                use $crate::value::{Shown, ToPython};
                vec![$(Shown { name: stringify!($field), text: self.0.$field.shown(), column: self.0.$field.column() },)*]
            }
        }

        // a field may be called `new`
        #[allow(clippy::new_ret_no_self, clippy::wrong_self_convention)]
        #[pymethods]
        impl $twin {
            $(
                $(#[$doc])*
                #[getter]
                fn $field<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                    $crate::value::ToPython::to_python(&self.0.$field, py)
                }
            )*

            /// Every attribute by its name: numbers, texts, and numpy columns.
            fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, pyo3::types::PyDict>> {
                let out = pyo3::types::PyDict::new(py);
                $(out.set_item(stringify!($field), $crate::value::ToPython::to_python(&self.0.$field, py)?)?;)*
                Ok(out)
            }

            fn __repr__(&self) -> String {
                $crate::value::line($name, &self.shown())
            }
        }

        $crate::value::value!($twin, $core, $name);
    };
}

/// `to_pandas` for a record whose columns go together.
macro_rules! frame {
    ($twin:ident) => {
        #[pymethods]
        impl $twin {
            /// The columns as a pandas table; needs pandas.
            fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                let columns = pyo3::types::PyDict::new(py);
                for c in self.shown() {
                    if let Some(numbers) = c.column {
                        columns.set_item(c.name, numpy::PyArray1::from_slice(py, numbers))?;
                    }
                }
                $crate::value::pandas(py, &columns)
            }
        }
    };
}

/// Read-only attributes from core methods of the same name.
macro_rules! getters {
    ($twin:ident { $($(#[$doc:meta])* $method:ident;)* }) => {
        #[pymethods]
        impl $twin {
            $(
                $(#[$doc])*
                #[getter]
                fn $method<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                    $crate::value::ToPython::to_python(&self.0.$method(), py)
                }
            )*
        }
    };
}

/// What a report prints: its words, one to a line.
macro_rules! report_words {
    ($twin:ident) => {
        #[pymethods]
        impl $twin {
            fn __str__(&self) -> String {
                self.0.words.join("\n")
            }
        }
    };
}

/// What a report prints: its words, and below them the cautions that apply.
macro_rules! report {
    ($twin:ident) => {
        #[pymethods]
        impl $twin {
            /// The cautions that apply, by the hazard at hand; print(...) shows them below the words.
            #[getter]
            fn cautions(&self) -> Vec<String> {
                self.0.cautions()
            }

            fn __str__(&self) -> String {
                format!("{}\n\nCautions\n  {}", self.0.words.join("\n"), self.0.cautions().join("\n  "))
            }
        }
    };
}

pub(crate) use {frame, getters, outward, record, report, report_words, value};
