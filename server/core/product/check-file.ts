import { count, listNames, PLACES } from '../texts/format-text.ts';
import { listUsed } from './check-maps.ts';
import { type Finding, makeFinding, type Severity } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { Damage, Survey, ValidatorMessage } from './survey.ts';

/** Checks the file itself, apart from its parts and materials. */
export function checkFile(facts: ModelFacts): Finding[] {
  const { survey } = facts;
  return [
    ...checkValidator(facts),
    ...checkPreparation(facts),
    ...checkArrival(facts),
    ...checkExtensions(survey),
    ...checkVariants(survey),
    ...checkAnimations(survey),
    ...checkUnused(survey),
  ];
}

/** The validator's code for a scene that lists a node with a parent, the commonest error in real files. */
const SCENE_ERROR = 'SCENE_NON_ROOT_NODE';

/** Validator errors are warnings here and do not block, because many good models have a minor one. */
function checkValidator(facts: ModelFacts): Finding[] {
  const { validator } = facts.survey;
  if (validator.errors === 0) return [];
  const isSettled = makeSettled(facts);
  const all = validator.messages.filter((message) => message.severity === 0);
  const errors = all.filter((message) => !isSettled(message));
  if (all.length > 0 && errors.length === 0) return [];
  // If the survey does not hold all errors, the number of settled ones is unknown.
  const isCut = errors.length < all.length && all.length < validator.errors;
  const standing = isCut ? errors.length : validator.errors - (all.length - errors.length);
  const first = errors[0];
  const isScene = errors.some(({ code }) => code === SCENE_ERROR);
  return [
    makeFinding(
      'validator',
      { errors: standing, isAtLeast: isCut, first: first?.message ?? null, isScene },
      {
        where: first?.pointer || '/',
        place: PLACES.file,
        seen: standing,
        expected: 0,
        ...(isScene ? { repairs: [{ repair: 'fix-scene' }] } : {}),
      },
    ),
  ];
}

/** Tells whether another finding already reports an error: a value mended on reading, or a damaged image. */
function makeSettled({ survey, drawn }: ModelFacts): (message: ValidatorMessage) => boolean {
  const { damages } = survey;
  const reported = listUsed(survey, drawn).filter(({ undecodable, misplaced }) => undecodable !== null || misplaced);
  const places = [...damages.map(({ where }) => where), ...reported.map(({ index }) => `/images/${index}`)];
  const images = new Set(reported.map(({ index }) => index));
  const maps = drawn.flatMap((material) => material.maps).filter(({ image }) => image !== null && images.has(image));
  const textures = maps.map(({ texture }) => `/textures/${texture}`);
  const bindings = damages.flatMap(({ where }) => /^(.*)\/texCoord$/.exec(where)?.[1] ?? []);
  const undeclared = damages.filter(({ code }) => code === 'undeclared-extension').map(({ seen }) => seen);
  return ({ code, pointer, message }) => {
    if (isWithin(pointer, places)) return true;
    switch (code) {
      case 'MESH_PRIMITIVE_TOO_FEW_TEXCOORDS':
        // The message points at the primitive and names the map: “Texture binding '/materials/0/normalTexture' needs
        // …”.
        return isWithin(/'(\/[^']*)'/.exec(message)?.[1] ?? '', bindings);
      case 'UNDECLARED_EXTENSION':
        return undeclared.includes(`“${pointer.slice(pointer.lastIndexOf('/') + 1)}”`);
      case 'TEXTURE_INVALID_IMAGE_MIME_TYPE':
        return isWithin(pointer, textures);
      default:
        return false;
    }
  };
}

function isWithin(pointer: string, places: readonly string[]): boolean {
  return places.some((place) => pointer === place || pointer.startsWith(`${place}/`));
}

/** Lists the steps of the preparation that did not fit this model. No step is skipped silently. */
function checkPreparation({ origin }: ModelFacts): Finding[] {
  if (origin?.kind !== 'repaired') return [];
  return origin.reports.flatMap(({ outcome, repair, message }, index) =>
    outcome === 'unfit'
      ? [
          makeFinding(
            'preparation-step-unfit',
            { step: index + 1, message },
            {
              where: `/preparation/${index}`,
              place: PLACES.step(index + 1),
              seen: repair,
              expected: 'a step that fits',
            },
          ),
        ]
      : [],
  );
}

function checkArrival({ packed }: ModelFacts): Finding[] {
  if (!packed) return [];
  return [
    makeFinding(
      'loose-files',
      {},
      {
        where: '/buffers',
        place: PLACES.file,
        seen: 'model/gltf+json',
        expected: 'model/gltf-binary',
      },
    ),
  ];
}

/**
 * A required extension that Dyeworks does not know prevents every use. An optional one passes through and prevents
 * none.
 */
function checkExtensions({ extensions }: Survey): Finding[] {
  const { unknown, required } = extensions;
  if (unknown.length === 0) return [];
  const needed = unknown.filter((name) => required.includes(name));
  return [
    makeFinding(
      'unknown-extension',
      { names: unknown, required: needed },
      {
        where: needed.length > 0 ? '/extensionsRequired' : '/extensionsUsed',
        place: PLACES.file,
        seen: unknown,
        expected: [],
      },
      needed.length > 0 ? 'warning' : 'note',
    ),
  ];
}

function checkVariants({ variants }: Survey): Finding[] {
  if (variants.length === 0) return [];
  return [
    makeFinding(
      'carries-variants',
      { variants: variants.length },
      {
        where: '/extensions/KHR_materials_variants',
        place: listNames(variants),
        seen: variants,
        expected: [],
      },
    ),
  ];
}

function checkAnimations({ counts }: Survey): Finding[] {
  if (counts.animations === 0) return [];
  return [
    makeFinding(
      'carries-animation',
      { animations: counts.animations },
      {
        where: '/animations',
        place: PLACES.animations(counts.animations),
        seen: counts.animations,
        expected: 0,
      },
    ),
  ];
}

function checkUnused({ unused, bytes }: Survey): Finding[] {
  const { nodes, meshes, materials, textures, images, accessors, bufferViews } = unused;
  const kinds = [
    ...named(nodes, 'node'),
    ...named(meshes, 'mesh', 'meshes'),
    ...named(materials, 'material'),
    ...named(textures, 'texture'),
    ...named(images, 'image'),
    ...named(accessors, 'accessor'),
    ...named(bufferViews, 'buffer view'),
  ];
  if (kinds.length > 0) {
    return [
      makeFinding(
        'unused-content',
        { kinds, bytes: unused.bytes, all: bytes },
        {
          where: '/',
          place: PLACES.file,
          seen: unused,
          expected: 0,
          repairs: [{ repair: 'strip-unused' }],
        },
      ),
    ];
  }
  if (unused.bytes === 0) return [];
  return [
    makeFinding(
      'dead-bytes',
      { bytes: unused.bytes, all: bytes },
      {
        where: '/buffers/0',
        place: PLACES.file,
        seen: unused.bytes,
        expected: 0,
        repairs: [{ repair: 'strip-unused' }],
      },
    ),
  ];
}

const named = (n: number, one: string, many?: string) => (n > 0 ? [count(n, one, many)] : []);

/** Places that a finding names. The others are counted. */
const NAMED = 3;

/** Reports invalid values of the file, one finding for each kind of place: the value found and the replacement used. */
export function checkDamage({ damages }: Pick<Survey, 'damages'>): Finding[] {
  return [...groupAlike(damages).values()].map((group) => {
    const first = group[0]!;
    const severity = judgeDamage(first);
    const facts = {
      where: first.where,
      place: PLACES.several([...new Set(group.map(({ place }) => place))], NAMED),
      seen: group.length === 1 ? first.seen : group.length,
      expected: first.expected,
    };
    switch (first.code) {
      case 'damaged-animation':
        return makeFinding(first.code, { parts: group.length, animations: nameAnimations(group) }, facts, severity);
      case 'no-scene':
        return makeFinding(first.code, { shown: first.used ?? '' }, facts, severity);
      case 'undeclared-extension':
        return makeFinding(first.code, { names: group.map(({ used }) => used ?? '') }, facts, severity);
      default:
        return makeFinding(
          first.code,
          { ...first, values: group.length, isVisible: severity === 'warning' },
          facts,
          severity,
        );
    }
  });
}

function groupAlike(damages: readonly Damage[]): Map<string, Damage[]> {
  const groups = new Map<string, Damage[]>();
  for (const damage of damages) {
    const { code, what, where, expected, used } = damage;
    const key = JSON.stringify([code, what.replace(/\d+/g, '0'), where.split('/')[1], expected, used === null]);
    const group = groups.get(key);
    if (group) group.push(damage);
    else groups.set(key, [damage]);
  }
  return groups;
}

function nameAnimations(group: readonly Damage[]): string {
  const places = new Set(group.map(({ place }) => place));
  return places.size === 1 ? [...places][0]! : PLACES.animations(places.size);
}

/** Arrays whose damage changes neither the look of the product nor the position of its parts. */
const ASIDE = new Set([
  'accessors',
  'animations',
  'asset',
  'bufferViews',
  'buffers',
  'cameras',
  'extensions',
  'scenes',
]);

function judgeDamage({ code, where, what }: Damage): Severity {
  const [, array = ''] = where.split('/');
  if (code === 'no-scene' || code === 'undeclared-extension' || code === 'damaged-animation') return 'note';
  return ASIDE.has(array) || what === 'name' || what === 'camera' || /\blights?\b/.test(what) ? 'note' : 'warning';
}
