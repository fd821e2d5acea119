/** Lines have rules; a finish of the range may say until when it can be ordered, and what takes its place. */
export const rules = /* sql */ `
ALTER TABLE lines ADD COLUMN rules TEXT NOT NULL DEFAULT '[]';
ALTER TABLE line_range ADD COLUMN last_order TEXT;
ALTER TABLE line_range ADD COLUMN replaced_by TEXT;
`;
