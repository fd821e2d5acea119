/**
 * Nothing is inherited under a code that is used again: approvals go with what they were of, and jobs no longer count as
 * those of a product of the same code. What was left behind before is cleared here. A product that came after another of its
 * code is told by its first model, whose number is not 1.
 */
export const approvalsEnd = /* sql */ `
DELETE FROM approvals WHERE instr(subject, '/') = 0 AND (
  subject NOT IN (SELECT finish_key FROM finishes)
  OR EXISTS (
    SELECT 1 FROM retired_finishes
    WHERE retired_finishes.finish_key = approvals.subject AND retired_finishes.revision >=
      (SELECT max(value) FROM json_each(approvals.data, '$.revisions'))
  )
);

DELETE FROM approvals WHERE instr(subject, '/') > 0 AND (
  substr(subject, 1, instr(subject, '/') - 1) NOT IN (SELECT product_key FROM products)
  OR EXISTS (
    SELECT 1 FROM models
    WHERE models.product_key = substr(approvals.subject, 1, instr(approvals.subject, '/') - 1)
    GROUP BY models.product_key
    HAVING min(models.revision) > 1 AND min(models.created_at) > json_extract(approvals.data, '$.at')
  )
);

UPDATE jobs SET data = json_set(data, '$.productGone', json('true'))
  WHERE json_extract(data, '$.product') IS NOT NULL
  AND lower(json_extract(data, '$.product')) NOT IN (SELECT product_key FROM products);
`;
