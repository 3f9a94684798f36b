-- Written by `python -m assistant.ledger questions` from questions.py, on tables jobs, counted, pulls.

-- name: trend by {dimension}
SELECT
  "t6"."{dimension}",
  "t6"."month",
  "t6"."jobs",
  "t6"."pulls",
  "t6"."judged",
  "t6"."in_band",
  "t6"."short",
  "t6"."over",
  "t6"."skipped",
  "t6"."worst_margin",
  "t6"."bites",
  "t6"."fall_back",
  CAST("t6"."in_band" AS DOUBLE) / NULLIF(CAST("t6"."judged" AS DOUBLE), 0.0) AS "share_in_band"
FROM (
  SELECT
    "t5"."{dimension}",
    "t5"."month",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    SUM(CASE WHEN "t5"."number" IS NOT NULL THEN 1 ELSE 0 END) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    COALESCE(MIN("t5"."margin") FILTER(WHERE
      "t5"."mark" = 'short'), MIN("t5"."margin")) AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
  FROM (
    SELECT
      "t4"."file",
      "t4"."{dimension}",
      "t4"."month",
      "t2"."file" AS "file_right",
      "t2"."number",
      "t2"."pass_number",
      "t2"."direction",
      "t2"."span_in",
      "t2"."mark",
      "t2"."percent",
      "t2"."measured",
      "t2"."margin",
      "t2"."fall_back",
      "t2"."bites",
      "t2"."skipped",
      "t2"."notes"
    FROM (
      SELECT
        "t0"."file",
        "t0"."{dimension}",
        "t0"."month"
      FROM "counted" AS "t0"
    ) AS "t4"
    LEFT OUTER JOIN "pulls" AS "t2"
      ON "t4"."file" = "t2"."file"
  ) AS "t5"
  GROUP BY
    1,
    2
) AS "t6"
ORDER BY
  "t6"."{dimension}" ASC,
  "t6"."month" ASC

-- name: by {dimension}
SELECT
  "t6"."{dimension}",
  "t6"."jobs",
  "t6"."pulls",
  "t6"."judged",
  "t6"."in_band",
  "t6"."short",
  "t6"."over",
  "t6"."skipped",
  "t6"."worst_margin",
  "t6"."bites",
  "t6"."fall_back",
  CAST("t6"."in_band" AS DOUBLE) / NULLIF(CAST("t6"."judged" AS DOUBLE), 0.0) AS "share_in_band"
FROM (
  SELECT
    "t5"."{dimension}",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    SUM(CASE WHEN "t5"."number" IS NOT NULL THEN 1 ELSE 0 END) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    COALESCE(MIN("t5"."margin") FILTER(WHERE
      "t5"."mark" = 'short'), MIN("t5"."margin")) AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
  FROM (
    SELECT
      "t4"."file",
      "t4"."{dimension}",
      "t2"."file" AS "file_right",
      "t2"."number",
      "t2"."pass_number",
      "t2"."direction",
      "t2"."span_in",
      "t2"."mark",
      "t2"."percent",
      "t2"."measured",
      "t2"."margin",
      "t2"."fall_back",
      "t2"."bites",
      "t2"."skipped",
      "t2"."notes"
    FROM (
      SELECT
        "t0"."file",
        "t0"."{dimension}"
      FROM "counted" AS "t0"
    ) AS "t4"
    LEFT OUTER JOIN "pulls" AS "t2"
      ON "t4"."file" = "t2"."file"
  ) AS "t5"
  GROUP BY
    1
) AS "t6"
ORDER BY
  "t6"."{dimension}" ASC

-- name: second look
WITH "t15" AS (
  SELECT
    *
  FROM (
    SELECT
      *
    FROM (
      SELECT
        "t0"."file",
        'fall_back' AS "measure",
        "t0"."fall_back" AS "value"
      FROM "counted" AS "t0"
      WHERE
        "t0"."fall_back" IS NOT NULL
    ) AS "t4"
    UNION ALL
    SELECT
      *
    FROM (
      SELECT
        "t0"."file",
        'average_length' AS "measure",
        "t0"."average_length" AS "value"
      FROM "counted" AS "t0"
      WHERE
        "t0"."average_length" IS NOT NULL
    ) AS "t5"
  ) AS "t9"
  UNION ALL
  SELECT
    *
  FROM (
    SELECT
      *
    FROM (
      SELECT
        "t0"."file",
        'average_cross' AS "measure",
        "t0"."average_cross" AS "value"
      FROM "counted" AS "t0"
      WHERE
        "t0"."average_cross" IS NOT NULL
    ) AS "t6"
    UNION ALL
    SELECT
      *
    FROM (
      SELECT
        *
      FROM (
        SELECT
          "t0"."file",
          'share_in_band' AS "measure",
          "t0"."share_in_band" AS "value"
        FROM "counted" AS "t0"
        WHERE
          "t0"."share_in_band" IS NOT NULL
      ) AS "t7"
      UNION ALL
      SELECT
        *
      FROM (
        SELECT
          "t0"."file",
          'bites' AS "measure",
          "t0"."bites" AS "value"
        FROM "counted" AS "t0"
        WHERE
          "t0"."bites" IS NOT NULL
      ) AS "t8"
    ) AS "t10"
  ) AS "t13"
), "t24" AS (
  SELECT
    "t23"."file",
    "t23"."measure",
    "t23"."value",
    "t23"."usual",
    "t23"."many",
    ABS("t23"."value" - "t23"."usual") AS "distance"
  FROM (
    SELECT
      "t19"."file",
      "t19"."measure",
      "t19"."value",
      "t22"."usual",
      "t22"."many"
    FROM "t15" AS "t19"
    INNER JOIN (
      SELECT
        "t17"."measure",
        QUANTILE_CONT("t17"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t15" AS "t17"
      GROUP BY
        1
    ) AS "t22"
      ON "t19"."measure" = "t22"."measure"
  ) AS "t23"
)
SELECT
  *
FROM (
  SELECT
    *
  FROM (
    SELECT
      *
    FROM (
      SELECT
        5 AS "rank",
        "t0"."file",
        'skipped' AS "reason",
        CAST("t0"."skipped" AS DOUBLE) AS "value",
        CAST(NULL AS DOUBLE) AS "usual",
        '' AS "text"
      FROM "counted" AS "t0"
      WHERE
        "t0"."skipped" > 0
        AND CAST("t0"."skipped" AS DOUBLE) >= (
          CAST("t0"."pull_count" AS DOUBLE) * 0.2
        )
    ) AS "t12"
    UNION ALL
    SELECT
      *
    FROM (
      SELECT
        6 AS "rank",
        "t29"."file",
        "t29"."measure" AS "reason",
        "t29"."value",
        "t29"."usual",
        '' AS "text"
      FROM (
        SELECT
          "t26"."file",
          "t26"."measure",
          "t26"."value",
          "t26"."usual",
          "t26"."many",
          "t26"."distance",
          "t28"."mad"
        FROM "t24" AS "t26"
        INNER JOIN (
          SELECT
            "t25"."measure",
            QUANTILE_CONT("t25"."distance", 0.5) AS "mad"
          FROM "t24" AS "t25"
          GROUP BY
            1
        ) AS "t28"
          ON "t26"."measure" = "t28"."measure"
      ) AS "t29"
      WHERE
        "t29"."mad" > 0
        AND "t29"."many" >= 10
        AND (
          (
            "t29"."distance" * 0.6745
          ) / "t29"."mad"
        ) > 3.5
    ) AS "t30"
  ) AS "t31"
  UNION ALL
  SELECT
    *
  FROM (
    SELECT
      *
    FROM (
      SELECT
        *
      FROM (
        SELECT
          1 AS "rank",
          "t1"."file",
          'unread' AS "reason",
          CAST("t1"."rows" AS DOUBLE) AS "value",
          CAST(NULL AS DOUBLE) AS "usual",
          "t1"."trouble" AS "text"
        FROM "jobs" AS "t1"
        WHERE
          NOT (
            "t1"."state" IN ('closed', 'not closed', 'copy', 'carried on')
          )
      ) AS "t11"
      UNION ALL
      SELECT
        *
      FROM (
        SELECT
          2 AS "rank",
          "t0"."file",
          'short' AS "reason",
          CAST("t0"."short" AS DOUBLE) AS "value",
          CAST(NULL AS DOUBLE) AS "usual",
          '' AS "text"
        FROM "counted" AS "t0"
        WHERE
          "t0"."short" > 0
      ) AS "t2"
    ) AS "t14"
    UNION ALL
    SELECT
      *
    FROM (
      SELECT
        *
      FROM (
        SELECT
          3 AS "rank",
          "t0"."file",
          'not_made' AS "reason",
          CAST("t0"."not_made" AS DOUBLE) AS "value",
          CAST(NULL AS DOUBLE) AS "usual",
          '' AS "text"
        FROM "counted" AS "t0"
        WHERE
          "t0"."not_made" > 0 AND "t0"."state" = 'closed'
      ) AS "t3"
      UNION ALL
      SELECT
        *
      FROM (
        SELECT
          4 AS "rank",
          "t0"."file",
          'over' AS "reason",
          CAST("t0"."over" AS DOUBLE) AS "value",
          CAST(NULL AS DOUBLE) AS "usual",
          '' AS "text"
        FROM "counted" AS "t0"
        WHERE
          "t0"."over" > 0
          AND CAST("t0"."over" AS DOUBLE) >= (
            CAST("t0"."short" + "t0"."in_band" + "t0"."over" AS DOUBLE) * 0.2
          )
      ) AS "t16"
    ) AS "t18"
  ) AS "t20"
) AS "t32"
ORDER BY
  "t32"."rank" ASC,
  "t32"."value" DESC,
  "t32"."file" ASC,
  "t32"."reason" ASC

-- name: worst pulls
SELECT
  "t5"."file",
  "t5"."number",
  "t5"."direction",
  "t5"."mark",
  "t5"."margin",
  "t5"."percent"
FROM (
  SELECT
    "t2"."file",
    "t2"."number",
    "t2"."pass_number",
    "t2"."direction",
    "t2"."span_in",
    "t2"."mark",
    "t2"."percent",
    "t2"."measured",
    "t2"."margin",
    "t2"."fall_back",
    "t2"."bites",
    "t2"."skipped",
    "t2"."notes"
  FROM "pulls" AS "t2"
  INNER JOIN (
    SELECT
      "t1"."file"
    FROM "counted" AS "t1"
  ) AS "t4"
    ON "t2"."file" = "t4"."file"
) AS "t5"
WHERE
  "t5"."margin" < 0
ORDER BY
  CASE WHEN "t5"."mark" = 'short' THEN 0 ELSE 1 END ASC,
  "t5"."margin" ASC,
  "t5"."file" ASC,
  "t5"."number" ASC
LIMIT 10

-- name: counted
SELECT
  *
FROM "jobs" AS "t0"
WHERE
  "t0"."state" IN ('closed', 'not closed') AND NOT (
    "t0"."practice"
  )

-- name: totals
SELECT
  COUNT(*) AS "files",
  SUM(
    CASE
      WHEN "t0"."state" IN ('closed', 'not closed') AND NOT (
        "t0"."practice"
      )
      THEN 1
      ELSE 0
    END
  ) AS "counted",
  SUM(
    CASE
      WHEN "t0"."state" IN ('closed', 'not closed') AND "t0"."practice"
      THEN 1
      ELSE 0
    END
  ) AS "practice",
  SUM(CASE WHEN "t0"."state" IN ('copy', 'carried on') THEN 1 ELSE 0 END) AS "twice",
  SUM(
    CASE
      WHEN NOT (
        "t0"."state" IN ('closed', 'not closed', 'copy', 'carried on')
      )
      THEN 1
      ELSE 0
    END
  ) AS "unread",
  SUM(CASE WHEN "t0"."state" = 'not closed' THEN 1 ELSE 0 END) AS "not_closed"
FROM "jobs" AS "t0"

-- name: counted, practice counted
SELECT
  *
FROM "jobs" AS "t0"
WHERE
  "t0"."state" IN ('closed', 'not closed')

-- name: totals, practice counted
SELECT
  COUNT(*) AS "files",
  SUM(CASE WHEN "t0"."state" IN ('closed', 'not closed') THEN 1 ELSE 0 END) AS "counted",
  SUM(
    CASE
      WHEN "t0"."state" IN ('closed', 'not closed') AND "t0"."practice"
      THEN 1
      ELSE 0
    END
  ) AS "practice",
  SUM(CASE WHEN "t0"."state" IN ('copy', 'carried on') THEN 1 ELSE 0 END) AS "twice",
  SUM(
    CASE
      WHEN NOT (
        "t0"."state" IN ('closed', 'not closed', 'copy', 'carried on')
      )
      THEN 1
      ELSE 0
    END
  ) AS "unread",
  SUM(CASE WHEN "t0"."state" = 'not closed' THEN 1 ELSE 0 END) AS "not_closed"
FROM "jobs" AS "t0"
