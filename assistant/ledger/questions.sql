-- Written by `python -m assistant.ledger questions` from questions.py, on tables jobs, counted, pulls.

-- name: by crew
SELECT
  "t6"."crew",
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
    "t5"."crew",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."crew"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."crew"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1
) AS "t6"
ORDER BY
  "t6"."crew" ASC

-- name: by person
SELECT
  "t6"."person",
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
    "t5"."person",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."person"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."person"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1
) AS "t6"
ORDER BY
  "t6"."person" ASC

-- name: by carpet
SELECT
  "t6"."carpet",
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
    "t5"."carpet",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."carpet"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."carpet"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1
) AS "t6"
ORDER BY
  "t6"."carpet" ASC

-- name: by month
SELECT
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
    "t5"."month",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."month"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."month"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1
) AS "t6"
ORDER BY
  "t6"."month" ASC

-- name: trend by crew
SELECT
  "t6"."crew",
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
    "t5"."crew",
    "t5"."month",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."crew",
      "t4"."month"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."crew",
        "t1"."month"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1,
    2
) AS "t6"
ORDER BY
  "t6"."crew" ASC,
  "t6"."month" ASC

-- name: trend by person
SELECT
  "t6"."person",
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
    "t5"."person",
    "t5"."month",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."person",
      "t4"."month"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."person",
        "t1"."month"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1,
    2
) AS "t6"
ORDER BY
  "t6"."person" ASC,
  "t6"."month" ASC

-- name: trend by carpet
SELECT
  "t6"."carpet",
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
    "t5"."carpet",
    "t5"."month",
    COUNT(DISTINCT "t5"."file") AS "jobs",
    COUNT(*) AS "pulls",
    SUM(CASE WHEN "t5"."mark" IN ('short', 'in band', 'over') THEN 1 ELSE 0 END) AS "judged",
    SUM(CASE WHEN "t5"."mark" = 'in band' THEN 1 ELSE 0 END) AS "in_band",
    SUM(CASE WHEN "t5"."mark" = 'short' THEN 1 ELSE 0 END) AS "short",
    SUM(CASE WHEN "t5"."mark" = 'over' THEN 1 ELSE 0 END) AS "over",
    SUM(CASE WHEN "t5"."skipped" IS NOT NULL THEN 1 ELSE 0 END) AS "skipped",
    MIN("t5"."margin") AS "worst_margin",
    AVG(CAST("t5"."bites" AS DOUBLE)) FILTER(WHERE
      "t5"."percent" IS NOT NULL) AS "bites",
    AVG("t5"."fall_back") AS "fall_back"
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
      "t2"."notes",
      "t4"."carpet",
      "t4"."month"
    FROM "pulls" AS "t2"
    INNER JOIN (
      SELECT
        "t1"."file",
        "t1"."carpet",
        "t1"."month"
      FROM "counted" AS "t1"
    ) AS "t4"
      ON "t2"."file" = "t4"."file"
  ) AS "t5"
  GROUP BY
    1,
    2
) AS "t6"
ORDER BY
  "t6"."carpet" ASC,
  "t6"."month" ASC

-- name: second look
WITH "t4" AS (
  SELECT
    "t0"."file",
    "t0"."fall_back" AS "value"
  FROM "counted" AS "t0"
  WHERE
    "t0"."fall_back" IS NOT NULL
), "t5" AS (
  SELECT
    "t0"."file",
    "t0"."average_length" AS "value"
  FROM "counted" AS "t0"
  WHERE
    "t0"."average_length" IS NOT NULL
), "t6" AS (
  SELECT
    "t0"."file",
    "t0"."average_cross" AS "value"
  FROM "counted" AS "t0"
  WHERE
    "t0"."average_cross" IS NOT NULL
), "t7" AS (
  SELECT
    "t0"."file",
    "t0"."share_in_band" AS "value"
  FROM "counted" AS "t0"
  WHERE
    "t0"."share_in_band" IS NOT NULL
), "t8" AS (
  SELECT
    "t0"."file",
    "t0"."bites" AS "value"
  FROM "counted" AS "t0"
  WHERE
    "t0"."bites" IS NOT NULL
), "t40" AS (
  SELECT
    "t35"."file",
    "t35"."value",
    "t35"."usual",
    "t35"."many",
    ABS("t35"."value" - "t35"."usual") AS "distance"
  FROM (
    SELECT
      "t16"."file",
      "t16"."value",
      "t29"."usual",
      "t29"."many"
    FROM "t4" AS "t16"
    CROSS JOIN (
      SELECT
        QUANTILE_CONT("t9"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t4" AS "t9"
    ) AS "t29"
  ) AS "t35"
), "t41" AS (
  SELECT
    "t36"."file",
    "t36"."value",
    "t36"."usual",
    "t36"."many",
    ABS("t36"."value" - "t36"."usual") AS "distance"
  FROM (
    SELECT
      "t17"."file",
      "t17"."value",
      "t30"."usual",
      "t30"."many"
    FROM "t5" AS "t17"
    CROSS JOIN (
      SELECT
        QUANTILE_CONT("t10"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t5" AS "t10"
    ) AS "t30"
  ) AS "t36"
), "t42" AS (
  SELECT
    "t37"."file",
    "t37"."value",
    "t37"."usual",
    "t37"."many",
    ABS("t37"."value" - "t37"."usual") AS "distance"
  FROM (
    SELECT
      "t18"."file",
      "t18"."value",
      "t31"."usual",
      "t31"."many"
    FROM "t6" AS "t18"
    CROSS JOIN (
      SELECT
        QUANTILE_CONT("t11"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t6" AS "t11"
    ) AS "t31"
  ) AS "t37"
), "t43" AS (
  SELECT
    "t38"."file",
    "t38"."value",
    "t38"."usual",
    "t38"."many",
    ABS("t38"."value" - "t38"."usual") AS "distance"
  FROM (
    SELECT
      "t19"."file",
      "t19"."value",
      "t32"."usual",
      "t32"."many"
    FROM "t7" AS "t19"
    CROSS JOIN (
      SELECT
        QUANTILE_CONT("t12"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t7" AS "t12"
    ) AS "t32"
  ) AS "t38"
), "t44" AS (
  SELECT
    "t39"."file",
    "t39"."value",
    "t39"."usual",
    "t39"."many",
    ABS("t39"."value" - "t39"."usual") AS "distance"
  FROM (
    SELECT
      "t20"."file",
      "t20"."value",
      "t33"."usual",
      "t33"."many"
    FROM "t8" AS "t20"
    CROSS JOIN (
      SELECT
        QUANTILE_CONT("t13"."value", 0.5) AS "usual",
        COUNT(*) AS "many"
      FROM "t8" AS "t13"
    ) AS "t33"
  ) AS "t39"
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
    ) AS "t15"
    UNION ALL
    SELECT
      *
    FROM (
      SELECT
        6 AS "rank",
        "t78"."file",
        "t78"."measure" AS "reason",
        "t78"."value",
        "t78"."usual",
        '' AS "text"
      FROM (
        SELECT
          *
        FROM (
          SELECT
            *
          FROM (
            SELECT
              "t65"."file",
              'fall_back' AS "measure",
              "t65"."value",
              "t65"."usual",
              (
                (
                  "t65"."value" - "t65"."usual"
                ) * 0.6745
              ) / "t65"."mad" AS "z"
            FROM (
              SELECT
                "t50"."file",
                "t50"."value",
                "t50"."usual",
                "t50"."many",
                "t50"."distance",
                "t60"."mad"
              FROM "t40" AS "t50"
              CROSS JOIN (
                SELECT
                  QUANTILE_CONT("t45"."distance", 0.5) AS "mad"
                FROM "t40" AS "t45"
              ) AS "t60"
            ) AS "t65"
            WHERE
              "t65"."mad" > 0
              AND "t65"."many" >= 10
              AND ABS((
                (
                  "t65"."value" - "t65"."usual"
                ) * 0.6745
              ) / "t65"."mad") > 3.5
          ) AS "t70"
          UNION ALL
          SELECT
            *
          FROM (
            SELECT
              "t66"."file",
              'average_length' AS "measure",
              "t66"."value",
              "t66"."usual",
              (
                (
                  "t66"."value" - "t66"."usual"
                ) * 0.6745
              ) / "t66"."mad" AS "z"
            FROM (
              SELECT
                "t51"."file",
                "t51"."value",
                "t51"."usual",
                "t51"."many",
                "t51"."distance",
                "t61"."mad"
              FROM "t41" AS "t51"
              CROSS JOIN (
                SELECT
                  QUANTILE_CONT("t46"."distance", 0.5) AS "mad"
                FROM "t41" AS "t46"
              ) AS "t61"
            ) AS "t66"
            WHERE
              "t66"."mad" > 0
              AND "t66"."many" >= 10
              AND ABS((
                (
                  "t66"."value" - "t66"."usual"
                ) * 0.6745
              ) / "t66"."mad") > 3.5
          ) AS "t71"
        ) AS "t75"
        UNION ALL
        SELECT
          *
        FROM (
          SELECT
            *
          FROM (
            SELECT
              "t67"."file",
              'average_cross' AS "measure",
              "t67"."value",
              "t67"."usual",
              (
                (
                  "t67"."value" - "t67"."usual"
                ) * 0.6745
              ) / "t67"."mad" AS "z"
            FROM (
              SELECT
                "t52"."file",
                "t52"."value",
                "t52"."usual",
                "t52"."many",
                "t52"."distance",
                "t62"."mad"
              FROM "t42" AS "t52"
              CROSS JOIN (
                SELECT
                  QUANTILE_CONT("t47"."distance", 0.5) AS "mad"
                FROM "t42" AS "t47"
              ) AS "t62"
            ) AS "t67"
            WHERE
              "t67"."mad" > 0
              AND "t67"."many" >= 10
              AND ABS((
                (
                  "t67"."value" - "t67"."usual"
                ) * 0.6745
              ) / "t67"."mad") > 3.5
          ) AS "t72"
          UNION ALL
          SELECT
            *
          FROM (
            SELECT
              *
            FROM (
              SELECT
                "t68"."file",
                'share_in_band' AS "measure",
                "t68"."value",
                "t68"."usual",
                (
                  (
                    "t68"."value" - "t68"."usual"
                  ) * 0.6745
                ) / "t68"."mad" AS "z"
              FROM (
                SELECT
                  "t53"."file",
                  "t53"."value",
                  "t53"."usual",
                  "t53"."many",
                  "t53"."distance",
                  "t63"."mad"
                FROM "t43" AS "t53"
                CROSS JOIN (
                  SELECT
                    QUANTILE_CONT("t48"."distance", 0.5) AS "mad"
                  FROM "t43" AS "t48"
                ) AS "t63"
              ) AS "t68"
              WHERE
                "t68"."mad" > 0
                AND "t68"."many" >= 10
                AND ABS((
                  (
                    "t68"."value" - "t68"."usual"
                  ) * 0.6745
                ) / "t68"."mad") > 3.5
            ) AS "t73"
            UNION ALL
            SELECT
              *
            FROM (
              SELECT
                "t69"."file",
                'bites' AS "measure",
                "t69"."value",
                "t69"."usual",
                (
                  (
                    "t69"."value" - "t69"."usual"
                  ) * 0.6745
                ) / "t69"."mad" AS "z"
              FROM (
                SELECT
                  "t54"."file",
                  "t54"."value",
                  "t54"."usual",
                  "t54"."many",
                  "t54"."distance",
                  "t64"."mad"
                FROM "t44" AS "t54"
                CROSS JOIN (
                  SELECT
                    QUANTILE_CONT("t49"."distance", 0.5) AS "mad"
                  FROM "t44" AS "t49"
                ) AS "t64"
              ) AS "t69"
              WHERE
                "t69"."mad" > 0
                AND "t69"."many" >= 10
                AND ABS((
                  (
                    "t69"."value" - "t69"."usual"
                  ) * 0.6745
                ) / "t69"."mad") > 3.5
            ) AS "t74"
          ) AS "t76"
        ) AS "t77"
      ) AS "t78"
      ORDER BY
        "t78"."measure" ASC,
        "t78"."file" ASC
    ) AS "t79"
  ) AS "t80"
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
      ) AS "t14"
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
    ) AS "t21"
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
      ) AS "t22"
    ) AS "t28"
  ) AS "t34"
) AS "t81"
ORDER BY
  "t81"."rank" ASC,
  "t81"."value" DESC,
  "t81"."file" ASC,
  "t81"."reason" ASC

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
