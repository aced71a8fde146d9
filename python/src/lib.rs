//! The part of the Python module `lowstave` that is not Python: a field's files in, its result out; and a table of fields in, a table of
//! zones out. It holds no logic of its own: the engine works, this hands over. What is made of it stands in `lowstave/__init__.py`.

mod field;
mod input;
mod output;

use std::path::PathBuf;

use arrow_array::RecordBatch;
use arrow_pyarrow::PyArrowType;
use lowstave::farm::Problem;
use lowstave::{Files, Outcome};
use pyo3::exceptions::{PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict};

use field::{FieldInput, Limits};

/// The file of a field that is the map of its zones.
const MAP: &str = "prescription.geojson";

/// What `plan_field` gives: exit code, problems or remarks as JSON, the map of the zones, the same as a table where that is wanted, and the
/// files asked for.
type Answer<'py> = (
    u8,
    String,
    Option<Bound<'py, PyBytes>>,
    Option<PyArrowType<RecordBatch>>,
    Bound<'py, PyDict>,
);

/// Plans one field. `files` are names and bytes; where `folder` is given they lie there instead.
#[pyfunction]
fn plan_field(
    py: Python<'_>,
    files: Vec<(String, Vec<u8>)>,
    folder: Option<PathBuf>,
    plan: String,
    wanted: (String, bool),
    limits: (usize, Option<String>),
) -> PyResult<Answer<'_>> {
    let (wanted, table_wanted) = (field::wanted(&wanted.0), wanted.1);
    let wanted = wanted.map_err(PyValueError::new_err)?;
    let limits = Limits::new(limits.0, limits.1.as_deref()).map_err(PyValueError::new_err)?;
    let files = match folder {
        Some(folder) => Files::folder(folder),
        None => Files::memory(files),
    };
    let result = py.detach(|| field::plan(&files, &plan, wanted, &limits));
    let given = PyDict::new(py);
    let planned = match result.map_err(|error| PyRuntimeError::new_err(error.to_string()))? {
        Ok(planned) => planned,
        Err(problems) => return Ok((code(&problems), in_json(&problems)?, None, None, given)),
    };
    for file in planned.files.iter().filter(|file| wanted.takes(&file.path)) {
        given.set_item(&file.path, PyBytes::new(py, &file.bytes))?;
    }
    let map = planned.files.iter().find(|file| file.path == MAP);
    let map = map.map(|file| PyBytes::new(py, &file.bytes));
    let (code, remarks) = (planned.code, planned.remarks);
    let table = if table_wanted {
        let zones = output::zones(&[(String::new(), Ok(planned.record))])?;
        Some(PyArrowType(zones))
    } else {
        None
    };
    Ok((code, remarks, map, table, given))
}

fn code(problems: &[Problem]) -> u8 {
    let codes = problems.iter().map(|problem| problem.code);
    codes.max().unwrap_or(Outcome::Failed.code())
}

fn in_json(problems: &[Problem]) -> PyResult<String> {
    serde_json::to_string(problems).map_err(|cause| PyRuntimeError::new_err(cause.to_string()))
}

/// Plans a table of fields, several at once on threads of their own that end with the call.
#[pyfunction]
fn plan_batch(
    py: Python<'_>,
    fields: PyArrowType<RecordBatch>,
    threads: usize,
    memory: Option<String>,
) -> PyResult<PyArrowType<RecordBatch>> {
    let fields = input::fields(&fields.0).map_err(PyValueError::new_err)?;
    // The threads stand side by side on fields; each field has one.
    let limits = Limits::new(1, memory.as_deref()).map_err(PyValueError::new_err)?;
    let results = py
        .detach(|| field::plan_all(&fields, threads, &limits))
        .map_err(|error| PyRuntimeError::new_err(error.to_string()))?;
    let ids = fields.into_iter().map(|field: FieldInput| field.id);
    let rows: Vec<_> = ids.zip(results).collect();
    Ok(PyArrowType(output::zones(&rows)?))
}

/// Rows for fields that came to nothing outside of the program: their process ended.
#[pyfunction]
fn failed_batch(ids: Vec<String>, why: &str) -> PyResult<PyArrowType<RecordBatch>> {
    let failed = |id: String| {
        let problem = field::failed(&id, why);
        (id, Err(vec![problem]))
    };
    let rows: Vec<_> = ids.into_iter().map(failed).collect();
    Ok(PyArrowType(output::zones(&rows)?))
}

/// The native part of the module `lowstave`.
#[pymodule]
fn _lowstave(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add_function(wrap_pyfunction!(plan_field, module)?)?;
    module.add_function(wrap_pyfunction!(plan_batch, module)?)?;
    module.add_function(wrap_pyfunction!(failed_batch, module)?)?;
    Ok(())
}
