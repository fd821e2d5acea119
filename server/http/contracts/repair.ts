import { type Static, type TProperties, Type } from 'typebox';
import { MOUNTS } from '../../core/picture/picture.ts';
import { AXES } from '../../core/repair/repair.ts';
import { Flag, mapOf, strict } from './schema-parts.ts';

/** The core checks the settings: each repair has its own, and the core can say what is wrong with them. */
const RequestedRepairs = Type.Array(
  Type.Object(
    { repair: Type.String({ maxLength: 40, description: 'scale, place, merge-parts …' }) },
    { additionalProperties: true },
  ),
  { maxItems: 500, description: 'Repairs in the order to make them, each with its settings' },
);

export const RepairsBody = Type.Object({ repairs: RequestedRepairs }, strict);
export type RepairsBody = Static<typeof RepairsBody>;

export const PreparationBody = Type.Object({ steps: RequestedRepairs }, strict);
export type PreparationBody = Static<typeof PreparationBody>;

export const PreviewQuery = Type.Object({ preview: Type.Optional(Flag) }, strict);
export type PreviewQuery = Static<typeof PreviewQuery>;

const Names = Type.Array(Type.String());
const Materials = Type.Optional(
  Type.Array(Type.String(), {
    description: 'Names, or pointers such as `/materials/3`. Without it, every material that needs the repair',
  }),
);

const repair = <N extends string, P extends TProperties>(name: N, settings: P) =>
  Type.Object(
    {
      repair: Type.Literal(name),
      ...settings,
      accept: Type.Optional(
        Type.Boolean({ description: 'Accepts the losses for which Dyeworks would refuse the repair' }),
      ),
    },
    strict,
  );

const PieceGroup = Type.Object(
  {
    name: Type.String({ description: 'Name of the new material, and so of the slot' }),
    pieces: Names,
    parts: Type.Optional(Names),
    shapes: Type.Optional(Names),
    hex: Type.Optional(Type.String({ description: 'Mean colour of the pieces in the colour map, sRGB' })),
  },
  { ...strict, description: 'Pieces that become one slot. The optional fields find the group again in a new export' },
);

export const Repair = Type.Union(
  [
    repair('scale', {
      factor: Type.Optional(Type.Number()),
      toHeightMm: Type.Optional(Type.Number({ description: 'The new height, instead of a factor' })),
      unit: Type.Optional(Type.String({ description: 'The unit that the factor converts from' })),
      seenHeightMm: Type.Optional(
        Type.Number({
          description: 'Height for which the factor was chosen. It does not scale an export in another unit',
        }),
      ),
    }),
    repair('place', { mount: Type.Optional(Type.Enum([...MOUNTS])), centred: Type.Optional(Type.Boolean()) }),
    repair('bake-transforms', {}),
    repair('merge-parts', {}),
    repair('separate-pieces', { material: Type.String(), groups: Type.Array(PieceGroup) }),
    repair('set-nonmetal', { materials: Materials }),
    repair('neutral-detail', { materials: Materials }),
    repair('fit-textures', {
      sizePx: Type.Optional(Type.Number({ description: 'Longest side at most. Default 2048' })),
      format: Type.Optional(Type.Enum(['keep', 'jpg', 'png', 'webp'])),
      quality: Type.Optional(Type.Number({ description: 'JPEG and WebP, 1 to 100. Default 90' })),
      lossyNormals: Type.Optional(Type.Boolean({ description: 'Without it, normal maps stay lossless' })),
    }),
    repair('strip-unused', {}),
    repair('rename-materials', {
      names: Type.Array(Type.Object({ from: Type.String(), to: Type.String() }, strict)),
    }),
    repair('fix-scene', {}),
    repair('unshare-mesh', { meshes: Type.Optional(Names) }),
    repair('box-uvs', {
      materials: Materials,
      metresPerUnit: Type.Optional(Type.Number({ description: 'Metres per UV unit. Default 1' })),
    }),
    repair('turn-outward', { materials: Materials, pieces: Type.Optional(Names), shapes: Type.Optional(Names) }),
    repair('turn', {
      axis: Type.Enum([...AXES]),
      degrees: Type.Number({ description: 'Counter-clockwise, seen from the positive end of the axis' }),
    }),
  ],
  { $id: 'Repair', description: 'One change to a model, with its settings' },
);

export const RepairReport = Type.Object(
  {
    repair: Type.Unsafe<Static<typeof Repair>>({ $ref: 'Repair#' }),
    outcome: Type.Enum(['done', 'nothing-to-do', 'unfit'], {
      description: 'unfit: the repair does not fit this model and changed nothing',
    }),
    message: Type.String({ description: 'The outcome of the repair, or why it did nothing' }),
    figures: mapOf(Type.Union([Type.Number(), Type.String()]), 'The numbers and names in the message'),
    touchesGeometry: Type.Boolean(),
    losses: Type.Array(Type.String(), {
      description: 'Losses of the repair, or those it will cause once they are accepted',
    }),
  },
  { ...strict, $id: 'RepairReport' },
);
