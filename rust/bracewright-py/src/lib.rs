//! The Python face of bracewright: convert, call one core function, convert back.
#[pyo3::pymodule]
mod _core {}
