// Reads Parquet files with two readers of other makers, DuckDB (C++) and
// hyparquet (JavaScript), and prints what each finds as JSON:
//
//	node parquet.js FILE...
//
// A file may be a pattern for several, which DuckDB reads as one table.
const fs = require("node:fs");
const path = require("node:path");
const url = require("node:url");
const zlib = require("node:zlib");
const { DuckDBInstance } = require("@duckdb/node-api");

async function byDuckDB(db, file) {
  const table = await db.runAndReadAll(`from read_parquet('${file}')`);
  const about = await db.runAndReadAll(`select decode(key), decode(value) from parquet_kv_metadata('${file}')`);
  const chunks = await db.runAndReadAll(
    `select path_in_schema, key_value_metadata, stats_min_value, stats_max_value, stats_null_count from parquet_metadata('${file}')`,
  );
  const columns = {};
  for (const [name, pairs] of chunks.getRowsJson()) {
    columns[name] = Object.fromEntries(pairs.map(({ key, value }) => [key, value]));
  }
  return {
    reader: "DuckDB",
    names: table.columnNames(),
    rows: table.getRows(),
    about: Object.fromEntries(about.getRows()),
    columns,
  };
}

async function byHyparquet(hyparquet, file) {
  const bytes = fs.readFileSync(file);
  const buffer = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength);
  const metadata = hyparquet.parquetMetadata(buffer);
  const names = metadata.schema.slice(1).map((element) => element.name);
  const rows = await hyparquet.parquetReadObjects({
    file: buffer,
    metadata,
    compressors: { GZIP: (input) => new Uint8Array(zlib.gunzipSync(input)) },
  });
  const columns = {};
  for (const column of metadata.row_groups[0]?.columns ?? []) {
    const pairs = column.meta_data.key_value_metadata ?? [];
    columns[column.meta_data.path_in_schema[0]] = Object.fromEntries(pairs.map(({ key, value }) => [key, value]));
  }
  return {
    reader: "hyparquet",
    names,
    rows: rows.map((row) => names.map((name) => row[name] ?? null)),
    about: Object.fromEntries(metadata.key_value_metadata.map(({ key, value }) => [key, value])),
    columns,
  };
}

async function main() {
  const home = path.join(process.env.NODE_PATH, "hyparquet", "src", "index.js");
  const hyparquet = await import(url.pathToFileURL(home).href);
  const db = await (await DuckDBInstance.create()).connect();
  const found = {};
  for (const file of process.argv.slice(2)) {
    found[file] = [await byDuckDB(db, file)];
    if (!file.includes("*")) {
      found[file].push(await byHyparquet(hyparquet, file));
    }
  }
  process.stdout.write(JSON.stringify(found));
}

main();
