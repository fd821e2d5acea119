import { type Static, type TSchema, Type } from 'typebox';
import { MOUNTS } from '../../core/picture/picture.ts';
import { Findings, ReadinessAnswer } from './finding.ts';
import { SlotAnswer } from './product.ts';
import { Repair, RepairReport } from './repair.ts';
import {
  Code,
  Count,
  Digest,
  Flag,
  Key,
  mapOf,
  Next,
  nullable,
  type ReadonlyStatic,
  ref,
  strict,
  Url,
} from './schema-parts.ts';
import { ModelSize, Survey } from './survey.ts';

export const HoldQuery = Type.Object(
  { hold: Type.Optional({ ...Flag, description: '1: store the model, but do not make it current' }) },
  strict,
);
export type HoldQuery = Static<typeof HoldQuery>;

export const ImportVariantsBody = Type.Object(
  { replace: Type.Optional(Type.Boolean({ description: 'Replaces a schedule that exists' })) },
  strict,
);
export type ImportVariantsBody = Static<typeof ImportVariantsBody>;

const Names = Type.Array(Type.String());
const Revision = Type.Integer({ minimum: 1 });
const Reports = Type.Array(ref(RepairReport));
const change = <T extends TSchema>(value: T) => Type.Object({ before: value, after: value }, strict);

export const ModelChanges = Type.Object(
  {
    matches: Type.Array(
      Type.Object({ slot: Key, material: nullable(Count), by: Type.Enum(['name', 'pieces', 'uv-and-area']) }, strict),
    ),
    lost: Names,
    added: Names,
    size: change(ModelSize),
    bytes: change(Count),
    triangles: change(Count),
    draws: change(Count),
    pieces: Type.Object({ same: Count, added: Count, gone: Count }, strict),
    density: Type.Array(
      Type.Object({ slot: Key, before: nullable(Type.Number()), after: nullable(Type.Number()) }, strict),
      { description: 'Slots whose metres per UV unit changed' },
    ),
    materials: Type.Array(Type.Object({ slot: Key, changes: Names }, strict)),
    lines: Type.Array(Type.String(), { description: 'All changes in sentences, most important first' }),
  },
  { ...strict, $id: 'ModelChanges', description: 'Differences from the model that was current' },
);

export const ModelAnswer = Type.Object(
  {
    revision: Revision,
    current: Type.Boolean({ description: 'False if the model is held: it waits until a person uses it' }),
    sha256: Digest,
    bytes: Count,
    survey: ref(Survey),
    slots: Type.Array(ref(SlotAnswer)),
    findings: Findings,
    prepared: Type.Array(ref(RepairReport), { description: 'The outcome of each step of the preparation' }),
    changes: nullable(ref(ModelChanges), 'Null for the first model of a product'),
  },
  strict,
);
export type ModelAnswer = ReadonlyStatic<typeof ModelAnswer>;

/** What repairs did to the model, or in a preview would do. */
export const RepairAnswer = Type.Object(
  {
    ...ReadinessAnswer.properties,
    revision: nullable(Revision, 'Null for a preview'),
    sha256: Digest,
    bytes: Count,
    reports: Reports,
    survey: ref(Survey),
    slots: Type.Array(ref(SlotAnswer)),
    changes: ref(ModelChanges),
  },
  strict,
);
export type RepairAnswer = ReadonlyStatic<typeof RepairAnswer>;

export const PreparationAnswer = Type.Object(
  {
    steps: Type.Array(ref(Repair), { description: 'Repairs for every new model of the product' }),
    made: Type.Array(ref(Repair), { description: 'Repairs that led to the current revision' }),
    reports: Type.Array(ref(RepairReport), { description: 'Outcomes since the revision before the current one' }),
  },
  strict,
);
export type PreparationAnswer = ReadonlyStatic<typeof PreparationAnswer>;

export const RevisionListAnswer = Type.Object(
  {
    next: Next,
    revisions: Type.Array(
      Type.Object(
        {
          revision: Revision,
          sha256: Digest,
          bytes: Count,
          receivedSha256: nullable(Digest, 'The upload, if Dyeworks packed it from a zip or a .gltf'),
          origin: Type.Union([
            Type.Object({ kind: Type.Literal('received') }, strict),
            Type.Object(
              {
                kind: Type.Literal('repaired'),
                from: Revision,
                received: Revision,
                reports: Reports,
                preparation: Type.Array(ref(Repair)),
              },
              strict,
            ),
          ]),
          createdAt: Type.String({ description: 'ISO 8601, UTC. Empty if unknown' }),
          current: Type.Boolean(),
          size: ModelSize,
          triangles: Count,
          draws: Count,
          model: Url,
        },
        strict,
      ),
      { description: 'Newest first' },
    ),
  },
  strict,
);
export type RevisionListAnswer = ReadonlyStatic<typeof RevisionListAnswer>;

/** What became of the variants that a model carries. */
export const ImportedVariantsAnswer = Type.Object(
  {
    finishes: Type.Array(Code, { description: 'Finishes made from its materials, or already known' }),
    variants: Type.Array(Type.Object({ code: Code, name: Type.String() }, strict)),
    default: Code,
    slots: Type.Array(ref(SlotAnswer)),
    revision: nullable(
      Revision,
      'Set if parts of one material change differently: the new model gives each its own material',
    ),
    leftOut: Type.Integer({ minimum: 0, description: 'Primitives with variants that draw nothing and have no slot' }),
  },
  strict,
);
export type ImportedVariantsAnswer = ReadonlyStatic<typeof ImportedVariantsAnswer>;

/** With very many options, the file has the finishes of the schedule only, and these. */
export const LookQuery = Type.Object(
  {
    choice: Type.Optional(
      Type.Array(Type.String({ maxLength: 200 }), {
        maxItems: 200,
        description: 'slot:finish, which the file must have; repeated, also for one slot',
      }),
    ),
  },
  strict,
);
export type LookQuery = Static<typeof LookQuery>;

/** What a live preview needs. */
export const LivePreviewAnswer = Type.Object(
  {
    file: Type.String({ description: 'URL path of a GLB with a material for every finish that a slot may take' }),
    mount: Type.Enum([...MOUNTS]),
    parts: Type.Array(
      Type.Object(
        { slot: Key, mesh: Count, primitive: Count, materials: mapOf(Count, 'Finish code to material index') },
        strict,
      ),
    ),
    slots: Type.Array(Type.Object({ slot: Key, mesh: Count, primitive: Count }, strict), {
      description: 'The slot of each primitive, also of slots that never change',
    }),
    model: Type.String({ description: 'SHA-256 of the model that the file is made from' }),
    pieces: Type.String({
      description:
        'URL path of the piece of each triangle: the length of the head as a 32-bit number, the head as JSON, then two 32-bit numbers for each run of triangles of one piece, how many and which',
    }),
  },
  strict,
);
export type LivePreviewAnswer = ReadonlyStatic<typeof LivePreviewAnswer>;
