import { Type } from 'typebox';
import { Code, Count, nullable, type ReadonlyStatic, strict } from './schema-parts.ts';

export const WeightAnswer = Type.Object(
  {
    delivery: Type.Integer({ minimum: 1 }),
    bytes: Type.Integer({ minimum: 0, description: 'Of the file: the sum of the groups' }),
    groups: Type.Object(
      {
        geometry: Count,
        partTextures: { ...Count, description: 'Images that parts show with their own materials' },
        finishes: { ...Count, description: 'Materials and images of the finishes' },
        structure: { ...Count, description: 'The rest of the JSON, headers and padding' },
        unread: { ...Count, description: 'Bytes that nothing in the file reads' },
      },
      strict,
    ),
    geometry: Type.Array(Type.Object({ use: Type.String(), bytes: Count }, strict)),
    partTextures: Type.Array(
      Type.Object(
        {
          image: Count,
          name: Type.String(),
          mimeType: nullable(Type.String()),
          widthPx: nullable(Count),
          heightPx: nullable(Count),
          bytes: Count,
          materials: Type.Array(Count),
          uses: Type.Array(Type.String()),
        },
        strict,
      ),
      { description: 'Heaviest first' },
    ),
    articles: Type.Array(
      Type.Object(
        {
          article: nullable({ ...Code, description: 'Null: the finishes without an article' }),
          finishes: Count,
          bytes: Count,
          shared: { ...Count, description: 'Of these bytes, images that several of its finishes share' },
        },
        strict,
      ),
      { description: 'Heaviest first; with `sharedByArticles` they sum up to the group of finishes' },
    ),
    sharedByArticles: { ...Count, description: 'Images that finishes of several articles share' },
    finishes: Type.Array(
      Type.Object(
        {
          finish: Code,
          name: Type.String(),
          article: nullable(Code),
          adds: { ...Count, description: 'Bytes that would go if the finish were not in the file' },
          shared: { ...Count, description: 'Images that it shows together with others; they would stay' },
        },
        strict,
      ),
      { description: 'Heaviest first' },
    ),
  },
  { ...strict, description: 'The bytes of a delivery, by use' },
);
export type WeightAnswer = ReadonlyStatic<typeof WeightAnswer>;
