// Long because it is one format: all that Dyeworks measures of a model.
import { type Static, type TSchema, Type } from 'typebox';
import { SURVEY_FORMAT } from '../../core/product/survey.ts';
import { Count, Flag, four, Hex, nullable, type ReadonlyStatic, strict, three, two } from './schema-parts.ts';

export const SurveyQuery = Type.Object(
  { pieces: Type.Optional({ ...Flag, description: '1: also list the connected pieces' }) },
  strict,
);
export type SurveyQuery = Static<typeof SurveyQuery>;

const Names = Type.Array(Type.String());
/** Without a maximum: a sum of areas can exceed 1 by a rounding error. */
const Share = Type.Number({ minimum: 0, description: 'Share, 0–1' });
const AreaM2 = Type.Number({ minimum: 0 });
const Index = Type.Integer({ minimum: 0 });
const MaterialIndex = nullable(Index, 'Null: the default material of glTF');
const Box = Type.Object({ min: Type.Array(Type.Number()), max: Type.Array(Type.Number()) }, strict);

/** Overall size, or null if nothing in the model has positions. */
export const ModelSize = nullable(
  Type.Object({ widthMm: Type.Number(), depthMm: Type.Number(), heightMm: Type.Number() }, strict),
);

const CodeCounts = Type.Unsafe<[number[], number[], number[]]>({
  type: 'array',
  items: { type: 'array', items: { type: 'number' } },
  minItems: 3,
  maxItems: 3,
  description: 'How often each of the 256 sRGB codes occurs in red, green and blue',
});

const channel = { mean: Type.Number(), min: Type.Number(), max: Type.Number() };
const NormalContent = Type.Object(
  { unit: Share, outward: Share },
  { ...strict, description: 'Read as a normal map: share of texels of unit length, and of texels that point outward' },
);

/** What Dyeworks measured in an uploaded map. */
export const MapFacts = Type.Object(
  {
    content: Type.Object(
      {
        linearMean: three('Mean in linear light'),
        codes: CodeCounts,
        channels: Type.Array(Type.Object(channel, strict)),
        grey: Type.Boolean(),
        alphaVaries: Type.Boolean(),
        constant: Type.Boolean(),
        normal: NormalContent,
      },
      strict,
    ),
    seams: Type.Object(
      (() => {
        const Seam = nullable(
          Type.Object({ step: Type.Number(), inner: Type.Number(), strongest: Type.Number() }, strict),
          'Steps between texels across the edge and inside, 0–1',
        );
        return { leftRight: Seam, topBottom: Seam };
      })(),
      strict,
    ),
  },
  strict,
);

const UvLayout = Type.Object(
  {
    texCoord: Index,
    metresPerU: Type.Number(),
    metresPerV: Type.Number(),
    turnDegrees: Type.Number(),
  },
  { ...strict, description: 'How finishes lie on the parts: UV set, size of a UV unit, rotation of the colour map' },
);

const GrainTurn = nullable(
  Type.Object({ degrees: Type.Number(), agreement: Share, share: Share }, strict),
  'Degrees counter-clockwise, 0–179. Agreement and share of the surface, 0–1',
);

export const GrainMark = nullable(
  Type.Object(
    {
      view: Type.Enum(['front', 'side', 'back', 'top']),
      min: two('Metres right and up in the view'),
      max: two('Metres right and up in the view'),
      uu: three(),
      uv: three(),
      vv: three(),
    },
    strict,
  ),
  'The piece that shows the direction best, in one view. Directions are second moments: xx, xy, yy',
);

const UvFacts = Type.Object(
  {
    coverage: Share,
    overlap: Share,
    outside: Share,
    bounds: nullable(Type.Object({ min: two(), max: two() }, strict)),
    stretch: Type.Number({ description: 'Mean ratio of the long to the short axis. 1 is undistorted' }),
    sizes: nullable(
      Type.Object({ low: Type.Number(), high: Type.Number(), off: Share }, strict),
      'Size of a repeat over the surface, as a multiple of its true size',
    ),
    pxPerMm: nullable(Type.Number(), 'Texels of the largest map per mm. Null without a map'),
  },
  strict,
);

const SurveyedMaterial = Type.Object(
  {
    index: Index,
    name: Type.String(),
    primitives: Count,
    triangles: Count,
    nodes: Names,
    maps: Type.Array(
      Type.Object({ use: Type.String(), texture: Index, image: nullable(Index), texCoord: Index }, strict),
    ),
    alphaMode: Type.Enum(['OPAQUE', 'MASK', 'BLEND']),
    doubleSided: Type.Boolean(),
    animated: Type.Boolean(),
    lay: UvLayout,
    metresPerUv: nullable(Type.Number(), 'Null if unknown: finishes then take a UV unit as a metre'),
    areaM2: AreaM2,
    pieces: Count,
    factors: Type.Object({ baseColor: four('Linear RGBA'), metallic: Type.Number(), roughness: Type.Number() }, strict),
    uv: nullable(UvFacts),
    neutralDetail: nullable(
      Type.Object({ mean: Type.Number(), codes: nullable(CodeCounts) }, strict),
      'Set if the colour map is a neutral detail map: a pattern without hue',
    ),
    grain: nullable(
      Type.Object(
        { along: GrainTurn, elongation: Type.Number(), hanging: GrainTurn, lying: Share, mark: GrainMark },
        strict,
      ),
    ),
    relief: nullable(
      Type.Object(
        {
          middleDegrees: Type.Number(),
          steepDegrees: Type.Number(),
          formDegrees: Type.Number(),
          repeats: nullable(Type.Number()),
        },
        strict,
      ),
      'Slopes of the normal map, patch by patch',
    ),
    densities: Type.Array(
      Type.Object({ metresPerUv: Type.Number(), areaM2: AreaM2, count: Count, pieces: Names, nodes: Names }, strict),
    ),
  },
  strict,
);

const SurveyedPrimitive = Type.Object(
  {
    mesh: Index,
    primitive: Index,
    material: MaterialIndex,
    uses: Count,
    triangles: Count,
    vertices: Count,
    uvSets: Count,
    hasUvs: Type.Boolean(),
    hasNormals: Type.Boolean(),
    hasTangents: Type.Boolean(),
    scale: nullable(Type.Object({ low: Type.Number(), high: Type.Number() }, strict), 'Metres per unit of the mesh'),
    hasColours: Type.Boolean(),
    compression: Type.Enum(['none', 'draco', 'meshopt']),
  },
  strict,
);

const ImageContent = Type.Object(
  {
    channels: Type.Array(Type.Object({ ...channel, spread: Type.Number() }, strict)),
    linearMean: three('Mean in linear light'),
    constant: Type.Boolean(),
    hasAlpha: Type.Boolean(),
    normal: NormalContent,
    colour: Type.Object(
      { hex: Hex, deltaE: Type.Number({ description: 'Mean ΔE*ab of texels from the mean colour' }) },
      strict,
    ),
  },
  strict,
);

const SurveyedImage = Type.Object(
  {
    index: Index,
    name: Type.String(),
    mimeType: nullable(Type.String()),
    widthPx: nullable(Count),
    heightPx: nullable(Count),
    bytes: Count,
    usedBy: Names,
    content: nullable(ImageContent, 'Null if the image is not measured (KTX2, AVIF) or cannot be decoded'),
    undecodable: nullable(Type.String(), 'Why the image cannot be decoded'),
    damaged: Type.Boolean({ description: 'No viewer shows it. Deliveries and pictures leave it out' }),
    misplaced: Type.Boolean({ description: 'A texture names it where viewers expect another format' }),
    jpegQuality: nullable(Type.Number(), 'Estimated, 1–100. Null for other formats'),
  },
  strict,
);

const NodeGroup = Type.Object(
  { count: Count, first: Type.Array(Type.Object({ node: Index, name: Type.String() }, strict)) },
  { ...strict, description: 'How many nodes, and the first twenty' },
);

const countsOf = <K extends string>(...keys: readonly K[]) =>
  Type.Object(Object.fromEntries(keys.map((key) => [key, Count])) as Record<K, typeof Count>, strict);

const piece = {
  piece: Type.String({ description: 'Id of the piece, the same in a new export of unchanged geometry' }),
  shape: Type.String({ description: 'The same for congruent pieces' }),
  material: MaterialIndex,
  areaM2: AreaM2,
  nodes: Names,
};

export const Piece = Type.Object(
  {
    ...piece,
    triangles: Count,
    box: Box,
    primitives: Type.Array(Type.Object({ mesh: Index, primitive: Index }, strict)),
    part: nullable(Type.String(), 'Name of the node or mesh that it belongs to'),
    hex: nullable(Hex, 'Mean colour in the colour map'),
  },
  { ...strict, description: 'A connected island of triangles' },
);

const survey = {
  format: Type.Literal(SURVEY_FORMAT),
  unreadable: Type.Optional(Type.String({ description: 'Why a stored model cannot be read any more' })),
  generator: nullable(Type.String()),
  bytes: Count,
  size: ModelSize,
  box: nullable(Box, 'Metres'),
  sizeIsExact: Type.Boolean({ description: 'False if the size is an upper bound' }),
  counts: countsOf(
    'nodes',
    'meshes',
    'primitives',
    'triangles',
    'draws',
    'materials',
    'textures',
    'images',
    'animations',
    'cameras',
    'lights',
    'pieces',
    'skins',
  ),
  transforms: Type.Object({ unbaked: NodeGroup, negative: NodeGroup, uneven: NodeGroup }, strict),
  hidden: NodeGroup,
  scenesWithChildren: Type.Array(Index, { description: 'Scenes that list a node with a parent' }),
  unused: countsOf('nodes', 'meshes', 'materials', 'textures', 'images', 'accessors', 'bufferViews', 'bytes'),
  faults: Type.Array(
    Type.Object(
      {
        fault: Type.Enum([
          'positions-not-finite',
          'index-out-of-range',
          'zero-area',
          'empty-primitive',
          'points-or-lines',
          'not-readable',
          'undecodable',
        ]),
        count: Count,
        where: Type.String({ description: 'JSON pointer of the first' }),
      },
      strict,
    ),
  ),
  inward: Type.Array(
    Type.Object(
      {
        ...piece,
        turn: Type.Enum(['winding', 'normals', 'both']),
        by: Type.Enum(['volume', 'view', 'normals']),
        certain: Type.Boolean(),
      },
      strict,
    ),
    { description: 'Pieces whose faces or normals point inward: certain ones first, then the largest' },
  ),
  gpu: Type.Object(
    { geometry: Type.Number(), textures: Type.Number() },
    { ...strict, description: 'Estimated graphics memory, bytes' },
  ),
  materials: Type.Array(SurveyedMaterial),
  bareLay: UvLayout,
  primitives: Type.Array(SurveyedPrimitive),
  images: Type.Array(SurveyedImage),
  sharedMeshes: Type.Array(Type.Object({ mesh: Index, name: Type.String(), nodes: Count }, strict)),
  variants: Names,
  extensions: Type.Object({ used: Names, required: Names, known: Names, unknown: Names }, strict),
  weight: Type.Object(
    {
      json: Count,
      images: Count,
      geometry: Count,
      causes: Type.Array(Type.Object({ cause: Type.String(), bytes: Count }, strict)),
    },
    { ...strict, description: 'Bytes by cause, heaviest first' },
  ),
  damages: Type.Array(
    Type.Object(
      {
        code: Type.Enum([
          'damaged-value',
          'dangling-reference',
          'damaged-animation',
          'no-scene',
          'undeclared-extension',
        ]),
        place: Type.String(),
        what: Type.String(),
        where: Type.String({ description: 'JSON pointer into the stored model' }),
        seen: Type.String(),
        expected: Type.String(),
        used: nullable(Type.String(), 'The value that Dyeworks uses instead. Null: the default of glTF'),
      },
      strict,
    ),
    { description: 'Values of the file that cannot be right, the first thousand' },
  ),
  validator: Type.Object(
    {
      version: Type.String(),
      errors: Count,
      warnings: Count,
      infos: Count,
      hints: Count,
      messages: Type.Array(
        Type.Object(
          {
            code: Type.String(),
            severity: Type.Unsafe<0 | 1 | 2 | 3>({
              enum: [0, 1, 2, 3],
              description: '0 error, 1 warning, 2 information, 3 hint',
            }),
            message: Type.String(),
            pointer: Type.String(),
          },
          strict,
        ),
      ),
    },
    { ...strict, description: 'Result of the glTF validator for the stored file' },
  ),
} satisfies Record<string, TSchema>;

export const Survey = Type.Object(survey, { ...strict, $id: 'Survey', description: 'The measured content of a model' });

export const SurveyAnswer = Type.Object({ ...survey, pieces: Type.Optional(Type.Array(Piece)) }, strict);
export type SurveyAnswer = ReadonlyStatic<typeof SurveyAnswer>;
