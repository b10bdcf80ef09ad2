"""Moments and days as whole numbers, reckoned by the database: no date is made for each row."""

from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import BigIntegerField, Func
from django.db.models.sql.compiler import SQLCompiler

__all__ = ["EpochDay", "EpochSecond"]


class EpochSecond(Func):
    """Seconds from 1970-01-01 UTC to a moment, rounded to whole ones."""

    output_field = BigIntegerField()

    def as_sqlite(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **context: Any
    ) -> Any:
        """Reckon from the Julian day, good to 0.1 ms."""
        template = "CAST(ROUND((julianday(%(expressions)s) - 2440587.5) * 86400) AS INTEGER)"
        return self.as_sql(compiler, connection, template=template, **context)

    def as_postgresql(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **context: Any
    ) -> Any:
        """Take the epoch of a time with zone."""
        template = "CAST(ROUND(EXTRACT(EPOCH FROM %(expressions)s)) AS bigint)"
        return self.as_sql(compiler, connection, template=template, **context)


class EpochDay(Func):
    """Days from 1970-01-01 to a date."""

    output_field = BigIntegerField()

    def as_sqlite(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **context: Any
    ) -> Any:
        """Reckon from the Julian day."""
        template = "CAST(ROUND(julianday(%(expressions)s) - 2440587.5) AS INTEGER)"
        return self.as_sql(compiler, connection, template=template, **context)

    def as_postgresql(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **context: Any
    ) -> Any:
        """Subtract two dates."""
        template = "(%(expressions)s - DATE '1970-01-01')"
        return self.as_sql(compiler, connection, template=template, **context)
