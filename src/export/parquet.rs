//! A table in the Parquet format (its specification: `apache/parquet-format`, version 2), column by column, typed.
//!
//! Text is UTF-8 (`STRING`), whole numbers are `INT64`, numbers `DOUBLE`; every column may lack a value. What each column
//! holds stands in the file itself, under `wheeltap.column.NAME`.

use std::fs::File;
use std::io::BufWriter;
use std::sync::Arc;

use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::Result;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;
use serde_json::Value as Json;

use super::{Column, Content};

/// Rows that are written together; so many at most are in memory.
const GROUP: usize = 16_384;

/// A table being written.
pub struct Writer {
    file: SerializedFileWriter<BufWriter<File>>,
    columns: Vec<Values>,
    names: Vec<String>,
    rows: usize,
}

/// Why a table cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// A value that its column cannot hold, and which column.
    #[error("the column {0} cannot hold {1}")]
    Value(String, Json),
    /// The disk, or the library that writes.
    #[error("{0}")]
    Write(#[from] parquet::errors::ParquetError),
}

/// The values of one column that wait to be written, and for each row whether there is one (1) or not (0).
struct Values {
    there: Vec<i16>,
    values: Typed,
}

enum Typed {
    Text(Vec<ByteArray>),
    Whole(Vec<i64>),
    Number(Vec<f64>),
}

impl Writer {
    /// A table of these columns, written to `file`.
    pub fn new(file: File, columns: &[Column]) -> Result<Self> {
        let fields = columns.iter().map(|column| field(column).map(Arc::new)).collect::<Result<Vec<_>>>()?;
        let schema = Type::group_type_builder("frames").with_fields(fields).build()?;
        let dictionary = columns.iter().map(|column| {
            let unit = if column.unit.is_empty() { String::new() } else { format!(" ({})", column.unit) };
            KeyValue::new(format!("wheeltap.column.{}", column.name), format!("{}{unit}", column.says))
        });
        let properties = WriterProperties::builder()
            .set_created_by(format!("wheeltap {}", env!("CARGO_PKG_VERSION")))
            .set_compression(Compression::SNAPPY)
            .set_key_value_metadata(Some(dictionary.collect()))
            .build();
        let file = SerializedFileWriter::new(BufWriter::new(file), Arc::new(schema), Arc::new(properties))?;
        let names = columns.iter().map(|column| column.name.clone()).collect();
        Ok(Self { file, columns: columns.iter().map(|column| Values::of(column.content)).collect(), names, rows: 0 })
    }

    /// Adds one row: a cell a column.
    pub fn row(&mut self, cells: Vec<Json>) -> std::result::Result<(), Fault> {
        for ((column, cell), name) in self.columns.iter_mut().zip(cells).zip(&self.names) {
            column.add(cell).map_err(|cell| Fault::Value(name.clone(), cell))?;
        }
        self.rows += 1;
        if self.rows == GROUP { Ok(self.write_group()?) } else { Ok(()) }
    }

    /// Writes what is left, and the end of the file.
    pub fn end(mut self) -> std::result::Result<(), Fault> {
        if self.rows > 0 {
            self.write_group()?;
        }
        let file = self.file.into_inner()?.into_inner().map_err(std::io::IntoInnerError::into_error);
        file.and_then(|file| file.sync_all()).map_err(parquet::errors::ParquetError::from)?;
        Ok(())
    }

    fn write_group(&mut self) -> Result<()> {
        let mut group = self.file.next_row_group()?;
        for values in &mut self.columns {
            let Some(mut column) = group.next_column()? else { break };
            values.write(&mut column)?;
            column.close()?;
        }
        group.close()?;
        self.rows = 0;
        Ok(())
    }
}

fn field(column: &Column) -> Result<Type> {
    let (physical, logical) = match column.content {
        Content::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
        Content::Whole => (Physical::INT64, None),
        Content::Number => (Physical::DOUBLE, None),
    };
    Type::primitive_type_builder(&column.name, physical)
        .with_logical_type(logical)
        .with_repetition(Repetition::OPTIONAL)
        .build()
}

impl Values {
    fn of(content: Content) -> Self {
        let values = match content {
            Content::Text => Typed::Text(Vec::new()),
            Content::Whole => Typed::Whole(Vec::new()),
            Content::Number => Typed::Number(Vec::new()),
        };
        Self { there: Vec::new(), values }
    }

    /// Takes one cell; gives it back where the column cannot hold it.
    fn add(&mut self, cell: Json) -> std::result::Result<(), Json> {
        if cell.is_null() {
            self.there.push(0);
            return Ok(());
        }
        let (whole, number) = (cell.as_i64(), cell.as_f64());
        match (&mut self.values, cell, whole, number) {
            (Typed::Text(all), Json::String(text), ..) => all.push(ByteArray::from(text.into_bytes())),
            (Typed::Whole(all), _, Some(whole), _) => all.push(whole),
            (Typed::Number(all), _, _, Some(number)) => all.push(number),
            (_, cell, ..) => return Err(cell),
        }
        self.there.push(1);
        Ok(())
    }

    /// Writes what waits, and forgets it.
    fn write(&mut self, column: &mut SerializedColumnWriter<'_>) -> Result<()> {
        let there = Some(self.there.as_slice());
        match &mut self.values {
            Typed::Text(all) => {
                column.typed::<ByteArrayType>().write_batch(all, there, None)?;
                all.clear();
            }
            Typed::Whole(all) => {
                column.typed::<Int64Type>().write_batch(all, there, None)?;
                all.clear();
            }
            Typed::Number(all) => {
                column.typed::<DoubleType>().write_batch(all, there, None)?;
                all.clear();
            }
        }
        self.there.clear();
        Ok(())
    }
}
