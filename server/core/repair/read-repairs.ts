import { checkName, NAME_LENGTH } from '../codes.ts';
import { MOUNTS } from '../picture/picture.ts';
import { Problem } from '../problems.ts';
import { REPAIR_PROBLEMS } from '../texts/problems/model.ts';
import { describeValue, JsonFieldReader, readList, refuse } from './json-field-reader.ts';
import {
  AXES,
  type PieceGroup,
  REPAIR_LIMITS,
  REPAIRS,
  type Repair,
  type RepairName,
  type RepairOf,
  type TextureFormat,
} from './repair.ts';

/** No unit that anybody models in has a factor beyond these: a micrometre read as a metre, and the reverse. */
const FACTOR = [1e-6, 1e6] as const;
/** A tenth of a micrometre to ten kilometres; a model in mm that is read as metres is a thousand times its size. */
const HEIGHT_MM = [1e-4, 1e7] as const;
/** A texture of 16 px shows nothing more, and no graphics card takes more than 16384. */
const TEXTURE_PX = [16, 16384] as const;
/** Metres per UV unit: from a millimetre, the size of a thread, to a kilometre. */
const METRES_PER_UNIT = [1e-3, 1e3] as const;
/** Names in files may be longer and stranger than names here, up to the length that a survey stores. */
const REFERENCE_LENGTH = 200;
/** One turn either way. */
const DEGREES = [-360, 360] as const;
const FORMATS: readonly TextureFormat[] = ['keep', 'jpg', 'png', 'webp'];
const PIECE = /^[0-9a-f]{12}$/;
const HEX = /^#[0-9a-f]{6}$/i;

/**
 * Reads a list of repairs strictly: from the body of a call, a preparation, a file.
 * @param where pointer to the list in the request
 * @throws Problem `invalid-repair` with where, what was expected and what was received
 */
export function readRepairs(value: unknown, where = ''): Repair[] {
  return readList(value, where, [0, REPAIR_LIMITS.repairs], 'repairs').map((item, index) =>
    readRepair(item, `${where}/${index}`),
  );
}

function readRepair(value: unknown, where: string): Repair {
  const fields = new JsonFieldReader(value, where, 'A repair');
  const name = fields.get('repair');
  if (typeof name !== 'string' || !Object.hasOwn(REPAIRS, name)) {
    refuse({
      where: `${where}/repair`,
      detail: REPAIR_PROBLEMS['invalid-repair'].unknownName,
      expected: Object.keys(REPAIRS),
      received: describeValue(name),
    });
  }
  const read = READERS[name as RepairName] as (fields: JsonFieldReader) => Repair;
  const repair = { ...read(fields), ...fields.optional('accept', (f) => f.boolean('accept')) };
  fields.refuseOthers();
  return repair as Repair;
}

const READERS: { readonly [N in RepairName]: (fields: JsonFieldReader) => RepairOf<N> } = {
  scale: readScale,
  place: (fields) => ({
    repair: 'place',
    ...fields.optional('mount', (f) => f.oneOf('mount', MOUNTS)),
    ...fields.optional('centred', (f) => f.boolean('centred')),
  }),
  'bake-transforms': () => ({ repair: 'bake-transforms' }),
  'merge-parts': () => ({ repair: 'merge-parts' }),
  'separate-pieces': readSeparation,
  'set-nonmetal': (fields) => ({ repair: 'set-nonmetal', ...readReferences(fields, 'materials') }),
  'neutral-detail': (fields) => ({ repair: 'neutral-detail', ...readReferences(fields, 'materials') }),
  'fit-textures': (fields) => ({
    repair: 'fit-textures',
    ...fields.optional('sizePx', (f) => f.whole('sizePx', TEXTURE_PX)),
    ...fields.optional('format', (f) => f.oneOf('format', FORMATS)),
    ...fields.optional('quality', (f) => f.whole('quality', [1, 100])),
    ...fields.optional('lossyNormals', (f) => f.boolean('lossyNormals')),
  }),
  'strip-unused': () => ({ repair: 'strip-unused' }),
  'rename-materials': readRenaming,
  'fix-scene': () => ({ repair: 'fix-scene' }),
  'unshare-mesh': (fields) => ({ repair: 'unshare-mesh', ...readReferences(fields, 'meshes') }),
  'box-uvs': (fields) => ({
    repair: 'box-uvs',
    ...readReferences(fields, 'materials'),
    ...fields.optional('metresPerUnit', (f) => f.number('metresPerUnit', METRES_PER_UNIT)),
  }),
  'turn-outward': readTurnOutward,
  turn: (fields) => ({
    repair: 'turn',
    axis: fields.oneOf('axis', AXES),
    degrees: fields.number('degrees', DEGREES),
  }),
};

function readScale(fields: JsonFieldReader): RepairOf<'scale'> {
  const given = (['factor', 'toHeightMm'] as const).filter((field) => fields.has(field));
  if (given.length !== 1) {
    refuse({
      where: fields.where,
      detail: REPAIR_PROBLEMS['invalid-repair'].scaleTarget,
      expected: 'factor or toHeightMm, one of them',
      received: given.length === 0 ? 'neither' : 'both',
    });
  }
  return {
    repair: 'scale',
    ...fields.optional('factor', (f) => f.number('factor', FACTOR)),
    ...fields.optional('toHeightMm', (f) => f.number('toHeightMm', HEIGHT_MM)),
    ...fields.optional('unit', (f) => f.text('unit', 40)),
    ...fields.optional('seenHeightMm', (f) => f.number('seenHeightMm', HEIGHT_MM)),
  };
}

function readSeparation(fields: JsonFieldReader): RepairOf<'separate-pieces'> {
  const seen = new Set<string>();
  const groups = fields.list('groups', [1, REPAIR_LIMITS.groups]).map((item, index): PieceGroup => {
    const group = new JsonFieldReader(item, `${fields.where}/groups/${index}`, 'A group');
    const read: PieceGroup = {
      name: readName(group, 'name'),
      pieces: readIds(group, 'pieces', 1),
      ...group.optional('parts', (f) =>
        f.list('parts', [0, REPAIR_LIMITS.pieces]).map((part, n) => readPart(part, `${f.where}/parts/${n}`)),
      ),
      ...group.optional('shapes', (f) => readIds(f, 'shapes', 0)),
      ...group.optional('hex', (f) => f.matching('hex', HEX, '#rrggbb')),
    };
    group.refuseOthers();
    for (const piece of read.pieces) {
      if (seen.has(piece)) {
        refuse({
          where: `${group.where}/pieces`,
          detail: REPAIR_PROBLEMS['invalid-repair'].pieceTwice(piece),
          expected: 'every piece once',
          received: piece,
        });
      }
      seen.add(piece);
    }
    return read;
  });
  refuseTwice(
    groups.map(({ name }) => name),
    `${fields.where}/groups`,
    REPAIR_PROBLEMS['invalid-repair'].groupTwice,
  );
  return { repair: 'separate-pieces', material: fields.text('material', REFERENCE_LENGTH), groups };
}

function readTurnOutward(fields: JsonFieldReader): RepairOf<'turn-outward'> {
  if (fields.has('pieces') && fields.has('materials')) {
    refuse({
      where: fields.where,
      detail: REPAIR_PROBLEMS['invalid-repair'].piecesOrMaterials,
      expected: 'pieces or materials, one of them',
      received: 'both',
    });
  }
  return {
    repair: 'turn-outward',
    ...readReferences(fields, 'materials'),
    ...fields.optional('pieces', (f) => readIds(f, 'pieces', 1)),
    ...fields.optional('shapes', (f) => readIds(f, 'shapes', 0)),
  };
}

function readRenaming(fields: JsonFieldReader): RepairOf<'rename-materials'> {
  const names = fields.list('names', [1, REPAIR_LIMITS.references]).map((item, index) => {
    const entry = new JsonFieldReader(item, `${fields.where}/names/${index}`, 'A renaming');
    const read = { from: entry.text('from', REFERENCE_LENGTH), to: readName(entry, 'to') };
    entry.refuseOthers();
    return read;
  });
  refuseTwice(
    names.map(({ from }) => from),
    `${fields.where}/names`,
    REPAIR_PROBLEMS['invalid-repair'].renamingTwice,
  );
  return { repair: 'rename-materials', names };
}

/** A new name for a material: valid like any name, and not like a pointer. */
function readName(fields: JsonFieldReader, field: string): string {
  const where = `${fields.where}/${field}`;
  const text = fields.text(field, NAME_LENGTH.max * 4);
  const name = asName(text, where);
  if (name.startsWith('/materials/')) {
    refuse({
      where,
      detail: REPAIR_PROBLEMS['invalid-repair'].nameLikePointer,
      expected: 'a name',
      received: name,
    });
  }
  return name;
}

/** Checks a name by the general rule, with refusals in the words of this list. */
function asName(text: string, where: string): string {
  try {
    return checkName(text, where);
  } catch (cause) {
    if (!(cause instanceof Problem)) throw cause;
    const { detail, expected, received } = cause.more;
    throw new Problem('invalid-repair', { detail, expected, received, where, cause });
  }
}

function readReferences<F extends 'materials' | 'meshes'>(
  fields: JsonFieldReader,
  field: F,
): { readonly [K in F]?: string[] } {
  return fields.optional(field, (f) =>
    f.list(field, [1, REPAIR_LIMITS.references]).map((item, index) => {
      const where = `${f.where}/${field}/${index}`;
      if (typeof item === 'string' && item !== '' && [...item].length <= REFERENCE_LENGTH) return item;
      return refuse({
        where,
        detail: REPAIR_PROBLEMS['invalid-repair'].reference(field === 'meshes' ? 'mesh' : 'material', `/${field}/3`),
        expected: `1 to ${REFERENCE_LENGTH} characters`,
        received: describeValue(item),
      });
    }),
  );
}

function readIds(fields: JsonFieldReader, field: 'pieces' | 'shapes', atLeast: number): string[] {
  return fields
    .list(field, [atLeast, REPAIR_LIMITS.pieces])
    .map((item, index) => readId(item, `${fields.where}/${field}/${index}`));
}

function readId(value: unknown, where: string): string {
  if (typeof value === 'string' && PIECE.test(value)) return value;
  return refuse({
    where,
    detail: REPAIR_PROBLEMS['invalid-repair'].pieceId,
    expected: PIECE.source,
    received: describeValue(value),
  });
}

function readPart(value: unknown, where: string): string {
  if (typeof value === 'string' && value !== '' && [...value].length <= REFERENCE_LENGTH) return value;
  return refuse({
    where,
    detail: REPAIR_PROBLEMS['invalid-repair'].partName,
    expected: `1 to ${REFERENCE_LENGTH} characters`,
    received: describeValue(value),
  });
}

function refuseTwice(names: readonly string[], where: string, twiceText: (name: string) => string): void {
  const twice = names.find((name, index) => names.indexOf(name) !== index);
  if (twice === undefined) return;
  refuse({ where, detail: twiceText(twice), expected: 'each once', received: twice });
}
