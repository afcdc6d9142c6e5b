"""The statements by which it is counted what passed the first time, for ``first_pass.py``."""

from __future__ import annotations

from typing import Final

# Nearly every step stands, and stands for the first time: those are counted by looking at
# nothing else. Only where a step is void (``step_void``, an index of those alone) is it worked
# out what came first; what stands there was counted at another moment, and is taken out again.
# Grouping a million steps by instrument, as it would be said first, takes seconds.
#
# What stands is counted operation by operation and week by week, each a stretch of one index
# (``step_stands``), which is never sorted nor grouped, and the table itself is not read.
#
# Measured over a million steps and ten thousand loops on PostgreSQL 15, 2 cores, nothing else
# running (``tests.bench.yields``), medians over all years: all in one 164 ms, by station 157 ms,
# by spec 297 ms, by week 219 ms; one week 74 ms.
STANDING: Final = """
WITH place(number) AS (VALUES {places}), part(number, since, until) AS (VALUES {parts})
SELECT place.number, part.number, (
    SELECT COUNT(*) FROM floor_step s WHERE s.operation_id = place.number
        AND s.void_at IS NULL AND s.at >= part.since AND s.at < part.until
), 0 FROM place CROSS JOIN part
"""
# By spec, each instrument is asked which operations stand on it, as bits of one number, and those
# of a revision that have the same are counted together: that many rows, and not each step, go
# with their revision. It is read along ``step_once``, where PostgreSQL keeps the moment too.
STANDING_BY_SPEC: Final = """
WITH word(lowest) AS (VALUES {words})
SELECT revision_id, lowest, bits, COUNT(*) FROM (
    SELECT i.revision_id, word.lowest, (
        SELECT CAST(SUM(CAST(1 AS bigint) << CAST(s.operation_id - word.lowest AS int)) AS bigint)
        FROM floor_step s WHERE s.instrument_id = i.id AND s.void_at IS NULL
            AND s.at >= %(since)s AND s.at < %(until)s {within}
    ) AS bits FROM floor_instrument i CROSS JOIN word WHERE 0 = 0 {of_spec}
) those GROUP BY 1, 2, 3
"""
WITHIN: Final = "AND s.operation_id >= word.lowest AND s.operation_id < word.lowest + {bits}"
STANDING_OF_SPECS: Final = """
SELECT s.operation_id, {part}, COUNT(*), 0 FROM floor_step s {join}
WHERE s.void_at IS NULL AND s.at >= %(since)s AND s.at < %(until)s {only} GROUP BY 1, 2
"""
# What an operation itself sent away was recorded there for the first time when it came back, and
# no row of it is void. It is told by what was found there and sent on a loop: hardly any, so that
# the steps are only looked up for those. Each counts once, and not again where a row is void.
# What is void is gone through once for both: when each was first recorded at an operation, and
# whether it ever came back for a rework.
AWAY: Final = """
void AS MATERIALIZED (
    SELECT v.instrument_id, v.operation_id, MIN(v.at) AS began,
        MAX(CASE WHEN v.void_why LIKE %(rework)s THEN 1 ELSE 0 END) AS failed
    FROM floor_step v WHERE v.void_at IS NOT NULL AND NOT v.struck
    GROUP BY v.instrument_id, v.operation_id
), place(code, number) AS (VALUES {named}), sent(instrument_id, code, at) AS (
    SELECT d.instrument_id, d.found_at, d.decided_at FROM floor_defect d
        WHERE d.rework_id IS NOT NULL AND d.decided_at < %(until)s
    UNION SELECT r.instrument_id, r.found_at, r.opened_at FROM floor_rework r
        WHERE r.opened_at < %(until)s
), at_once AS MATERIALIZED (
    SELECT sent.instrument_id, place.number AS operation_id, sent.code, sent.at AS sent_at,
        void.began, void.failed
    FROM sent JOIN place ON place.code = sent.code LEFT JOIN void
        ON void.instrument_id = sent.instrument_id AND void.operation_id = place.number
), begun AS MATERIALIZED (
    SELECT instrument_id, operation_id, code, sent_at, began, failed,
        (SELECT l.at FROM floor_step l WHERE l.instrument_id = at_once.instrument_id
            AND l.operation_id = at_once.operation_id AND l.void_at IS NULL) AS stands
    FROM at_once WHERE began IS NULL OR began > sent_at
), first AS (
    SELECT instrument_id, operation_id, code, sent_at, failed,
        CASE WHEN began IS NULL OR stands < began THEN stands ELSE began END AS at FROM begun
), came AS (
    SELECT instrument_id, operation_id, at, failed, ROW_NUMBER() OVER (
        PARTITION BY instrument_id, code, sent_at ORDER BY at, operation_id) AS turn
    FROM first WHERE at > sent_at
), away AS (
    SELECT DISTINCT instrument_id, operation_id, at FROM came
    WHERE turn = 1 AND COALESCE(failed, 0) = 0 AND at >= %(since)s AND at < %(until)s
)
"""
# What was done again and what was sent away, for the count of what stands. By spec they stand
# beside their revisions before it is asked when they were: how many are left then, the database
# could only guess.
OTHERWISE: Final = """
WITH {away}, again AS MATERIALIZED (
    SELECT void.instrument_id, void.operation_id, void.began, void.failed,
        (SELECT l.at FROM floor_step l WHERE l.instrument_id = void.instrument_id
            AND l.operation_id = void.operation_id AND l.void_at IS NULL) AS stands
    FROM void
), counted AS {kept} (
    SELECT s.operation_id, s.started, s.failed, s.at, {of} AS of FROM (
        SELECT instrument_id, operation_id, 1 AS started, failed,
            CASE WHEN stands < began THEN stands ELSE began END AS at FROM again
        UNION ALL SELECT instrument_id, operation_id, -1, 0, stands FROM again
        UNION ALL SELECT instrument_id, operation_id, 0, 1, at FROM away
    ) s {join} WHERE 0 = 0 {only}
)
SELECT s.operation_id, {part}, SUM(s.started), SUM(s.failed) FROM counted s
WHERE s.at >= %(since)s AND s.at < %(until)s GROUP BY 1, 2
"""
# What was sent away stands beside the steps as rows of its own: nothing is joined, of which the
# database could only guess how many there are.
BEGUN: Final = """
WITH {away}
SELECT instrument_id, operation_id, MIN(at), MAX(why), MAX(away) FROM (
    SELECT s.instrument_id, s.operation_id, s.at, 0 AS away,
        CASE WHEN s.void_at IS NOT NULL AND s.void_why LIKE %(rework)s THEN s.void_why
            ELSE '' END AS why
    FROM floor_step s {join} WHERE NOT s.struck {only}
    UNION ALL
    SELECT s.instrument_id, s.operation_id, s.at, 1, '' FROM away s {join}
    WHERE s.at < %(until)s {only}
) begun GROUP BY instrument_id, operation_id
HAVING MIN(at) >= %(since)s AND MIN(at) < %(until)s {which}
ORDER BY 3 DESC, instrument_id, operation_id LIMIT {many} OFFSET {first}
"""
FAILED: Final = "AND (MAX(why) <> '' OR MAX(away) > 0)"
INSTRUMENTS: Final = "JOIN floor_instrument i ON i.id = s.instrument_id"
