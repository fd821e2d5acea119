/**
 * What was measured of an uploaded image is kept; `data` is JSON, `null` for an image that cannot be measured.
 *
 * A finish with a colour map and white had its colour from the map, and says so from now on. Its white revisions in the
 * history say the same: the finish looked so then too, and nobody changed its colour.
 */
export const mapFacts = /* sql */ `
CREATE TABLE map_facts (
  sha256 TEXT PRIMARY KEY,
  -- of the measurement; an image of an earlier one is measured again
  format INTEGER NOT NULL,
  data TEXT NOT NULL
) STRICT;

CREATE TEMPORARY TABLE coloured_by_map AS
  SELECT finish_key
  FROM finishes LEFT JOIN articles ON articles.article_key = finishes.article_key
  WHERE lower(json_extract(finishes.data, '$.colour.hex')) = '#ffffff'
    AND json_extract(finishes.data, '$.supplied') IS NULL
    AND coalesce(json_extract(finishes.data, '$.maps.colour'), json_extract(articles.data, '$.maps.colour')) IS NOT NULL;

UPDATE finishes
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE finish_key IN (SELECT finish_key FROM coloured_by_map);

UPDATE history
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE kind = 'finish' AND code_key IN (SELECT finish_key FROM coloured_by_map)
    AND lower(json_extract(data, '$.colour.hex')) = '#ffffff' AND json_extract(data, '$.supplied') IS NULL
    AND coalesce(json_extract(data, '$.maps.colour'), json_extract(data, '$.article')) IS NOT NULL;

DROP TABLE coloured_by_map;
`;
