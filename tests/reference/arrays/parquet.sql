-- Parquet tables as DuckDB 1.5 writes them: its shell, or its client for another language, runs this in this folder.
-- The same leads as in make.py.
SET TimeZone = 'UTC';
CREATE TEMP TABLE leads AS SELECT
  i,
  i / 250.0::DOUBLE AS time_s,
  TIMESTAMP '2026-03-14 08:30:00' + INTERVAL (i * 4000) MICROSECONDS AS time,
  ((37 * i * i) % 401 - 200)::SMALLINT AS ecg_uV,
  (((53 * i * i) % 401 - 200) / 1000.0)::FLOAT AS second_mV
FROM range(400) t(i);
COPY (SELECT time_s, ecg_uV, second_mV FROM leads ORDER BY i) TO 'snappy.parquet' (FORMAT PARQUET, COMPRESSION 'snappy');
COPY (SELECT time, ecg_uV, second_mV FROM leads ORDER BY i) TO 'gzip.parquet' (FORMAT PARQUET, COMPRESSION 'gzip');
COPY (SELECT time::TIMESTAMPTZ AS time, ecg_uV, second_mV, [i] AS list FROM leads ORDER BY i)
  TO 'uncompressed.parquet' (FORMAT PARQUET, COMPRESSION 'uncompressed');
COPY (SELECT ecg_uV, second_mV FROM leads ORDER BY i) TO 'zstd.parquet' (FORMAT PARQUET, COMPRESSION 'zstd');
COPY (SELECT time_s, CASE WHEN i BETWEEN 100 AND 149 THEN NULL ELSE ecg_uV END AS ecg_uV FROM leads ORDER BY i)
  TO 'gaps.parquet' (FORMAT PARQUET, COMPRESSION 'snappy');
