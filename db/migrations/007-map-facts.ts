/**
 * What was measured of an uploaded image is kept; `data` is JSON, `null` for an image that cannot be measured.
 *
 * A finish with a colour map and white had its colour from the map, and says so from now on. The entry of the history that
 * stands for it says the same: the finish looks as it did.
 */
export const mapFacts = /* sql */ `
CREATE TABLE map_facts (
  sha256 TEXT PRIMARY KEY,
  data TEXT NOT NULL
) STRICT;

CREATE TEMPORARY TABLE coloured_by_map AS
  SELECT finish_key, finishes.revision
  FROM finishes LEFT JOIN articles ON articles.article_key = finishes.article_key
  WHERE lower(json_extract(finishes.data, '$.colour.hex')) = '#ffffff'
    AND json_extract(finishes.data, '$.supplied') IS NULL
    AND coalesce(json_extract(finishes.data, '$.maps.colour'), json_extract(articles.data, '$.maps.colour')) IS NOT NULL;

UPDATE finishes
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE finish_key IN (SELECT finish_key FROM coloured_by_map);

UPDATE history
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE kind = 'finish' AND data IS NOT NULL
    AND (code_key, revision) IN (SELECT finish_key, revision FROM coloured_by_map);

DROP TABLE coloured_by_map;
`;
