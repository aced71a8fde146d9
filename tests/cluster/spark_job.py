"""The job of the test: a folder of fields in, a folder of zones out, on the cluster that is named.

    python spark_job.py spark://127.0.0.1:7077 FIELDS ZONES
"""

import sys

from pyspark.sql import SparkSession

import lowstave.spark

master, fields, zones = sys.argv[1:]
session = (
    SparkSession.builder.master(master)
    .appName("lowstave")
    .config("spark.ui.enabled", "false")
    .config("spark.ui.showConsoleProgress", "false")
    .config("spark.driver.host", "127.0.0.1")
    .config("spark.driver.memory", "512m")
    .config("spark.executor.memory", "512m")
    # What a Python worker may take; a field that takes more ends its worker.
    .config("spark.executor.pyspark.memory", "1500m")
    .config("spark.sql.execution.arrow.maxRecordsPerBatch", "16")
    # One file a task.
    .config("spark.sql.files.maxPartitionBytes", "1m")
    .config("spark.sql.files.openCostInBytes", "1m")
    .getOrCreate()
)
lowstave.spark.plan(session.read.parquet(fields)).write.mode("overwrite").parquet(zones)
session.stop()
