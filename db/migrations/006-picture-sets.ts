/** Picture sets that somebody made, or that stand in the place of a ready one; the ready ones are in no table. */
export const pictureSets = /* sql */ `
CREATE TABLE picture_sets (
  -- the folded code
  set_key TEXT PRIMARY KEY,
  data TEXT NOT NULL
) STRICT;
`;
