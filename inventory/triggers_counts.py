"""Guards inside the database for counts: a posted or cancelled count is a record, and so are its lines and finds."""

from __future__ import annotations

from collections.abc import Mapping

COUNT, LINE, FIND = "inventory_stockcount", "inventory_countline", "inventory_countfind"
COUNT_TABLES = (COUNT, LINE, FIND)
_COUNT_WORDS = "a posted or cancelled count is a record: it is never changed or deleted"
_LINE_WORDS = "the lines of a posted or cancelled count are a record: they are never changed or deleted"
_CLOSED = "status <> 'open'"


def _sqlite() -> Mapping[str, str]:
    refuse_count = f"BEGIN SELECT RAISE(ABORT, '{_COUNT_WORDS}'); END"
    refuse_line = f"BEGIN SELECT RAISE(ABORT, '{_LINE_WORDS}'); END"

    def of_closed(column: str) -> str:
        return f"EXISTS (SELECT 1 FROM {COUNT} WHERE id = {column} AND {_CLOSED})"  # noqa: S608 - our own table names

    # A REPLACE deletes the row in its way without any delete trigger, so an insert is looked at too.
    replaced_count = f"EXISTS (SELECT 1 FROM {COUNT} WHERE (id = NEW.id OR key = NEW.key) AND {_CLOSED})"  # noqa: S608
    guards = {
        f"{COUNT}_no_update": f"BEFORE UPDATE ON {COUNT} WHEN OLD.{_CLOSED} {refuse_count}",
        f"{COUNT}_no_delete": f"BEFORE DELETE ON {COUNT} WHEN OLD.{_CLOSED} {refuse_count}",
        f"{COUNT}_no_replace": f"BEFORE INSERT ON {COUNT} WHEN {replaced_count} {refuse_count}",
    }
    for table in (LINE, FIND):
        replaced = f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id AND {of_closed('count_id')})"  # noqa: S608
        old, new = of_closed("OLD.count_id"), of_closed("NEW.count_id")
        guards[f"{table}_no_update"] = f"BEFORE UPDATE ON {table} WHEN {old} OR {new} {refuse_line}"
        guards[f"{table}_no_delete"] = f"BEFORE DELETE ON {table} WHEN {old} {refuse_line}"
        guards[f"{table}_no_insert"] = f"BEFORE INSERT ON {table} WHEN {new} OR {replaced} {refuse_line}"
    return guards


def _postgresql() -> Mapping[str, str]:
    refuse = f"FOR EACH ROW WHEN (OLD.{_CLOSED}) EXECUTE FUNCTION inventory_refuse('{_COUNT_WORDS}')"
    guards = {
        f"{COUNT}_no_update": f"BEFORE UPDATE ON {COUNT} {refuse}",
        f"{COUNT}_no_delete": f"BEFORE DELETE ON {COUNT} {refuse}",
    }
    for table, words in ((COUNT, _COUNT_WORDS), (LINE, _LINE_WORDS), (FIND, _LINE_WORDS)):
        guards[f"{table}_no_truncate"] = (
            f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION inventory_refuse('{words}')"
        )
    for table in (LINE, FIND):
        guards[f"{table}_no_change"] = (
            f"BEFORE INSERT OR UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION inventory_count_line()"
        )
    return guards


GUARDS: Mapping[str, Mapping[str, str]] = {"sqlite": _sqlite(), "postgresql": _postgresql()}
POSTGRESQL_FUNCTIONS: Mapping[str, str] = {
    "inventory_count_line": (
        f"BEGIN IF EXISTS (SELECT 1 FROM {COUNT} WHERE id IN (OLD.count_id, NEW.count_id) AND {_CLOSED}) "  # noqa: S608
        f"THEN RAISE EXCEPTION '{_LINE_WORDS}' USING ERRCODE = '23514'; END IF; "
        "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END"
    ),
}
