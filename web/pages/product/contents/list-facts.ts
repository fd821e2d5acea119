import type { Survey } from '../../../../server/core/product/survey.ts';
import { count, formatBytes, formatLength, formatNumber, formatSize, type Units } from '../../../format.ts';

export type Fact = readonly [name: string, value: string];

/** What a model is and holds, apart from its materials, as names with values in words. */
export function listFacts(survey: Survey, units: Units): Fact[] {
  const { counts, size, box, gpu, extensions, transforms, hidden, variants } = survey;
  const known = (names: readonly string[]) => (names.length === 0 ? 'none' : names.join(', '));
  return [
    ['Size, W × D × H', size ? `${formatSize(size, units)}${survey.sizeIsExact ? '' : ', at most'}` : 'not known'],
    ['Stands', box ? describeStanding(box, units) : 'not known'],
    ['Draws', `${count(counts.draws, 'draw')} of ${count(counts.triangles, 'triangle')}`],
    [
      'Structure',
      [
        count(counts.nodes, 'node'),
        count(counts.meshes, 'mesh', 'meshes'),
        count(counts.primitives, 'primitive'),
        count(counts.pieces, 'piece'),
      ].join(', '),
    ],
    [
      'Looks',
      [count(counts.materials, 'material'), count(counts.textures, 'texture'), count(counts.images, 'image')].join(
        ', ',
      ),
    ],
    ['Besides', listBesides(counts)],
    ['Transforms', describeTransforms(transforms)],
    ...(hidden.count > 0 ? [['Hidden', count(hidden.count, 'part')] as const] : []),
    [
      'On the graphics card',
      `about ${formatBytes(gpu.geometry + gpu.textures)}: geometry ${formatBytes(gpu.geometry)}, textures ${formatBytes(gpu.textures)}`,
    ],
    ['Unused', describeUnused(survey.unused)],
    ['Extensions', known(extensions.used)],
    ...(extensions.unknown.length > 0 ? [['Unknown here', known(extensions.unknown)] as const] : []),
    ...(variants.length > 0 ? [['Variants it came with', known(variants)] as const] : []),
    ['Validator', describeValidator(survey)],
    ['Written by', survey.generator ?? 'not told'],
  ];
}

/** Where the box stands against floor and origin: lowest and highest point, and how far its middle is off. */
function describeStanding({ min, max }: NonNullable<Survey['box']>, units: Units): string {
  const at = (metres: number) => signed(metres * 1000, units);
  const middle = (axis: number) => (min[axis]! + max[axis]!) / 2;
  const unit = units === 'inch' ? 'in' : 'mm';
  return `lowest point at ${at(min[1]!)} ${unit}, highest at ${at(max[1]!)}; middle ${at(middle(0))} sideways, ${at(middle(2))} forwards`;
}

function signed(mm: number, units: Units): string {
  const text = formatLength(Math.abs(mm), units);
  return mm < 0 && Number(text) !== 0 ? `−${text}` : text;
}

function listBesides({ animations, cameras, lights, skins }: Survey['counts']): string {
  const parts = [
    [animations, 'animation'],
    [cameras, 'camera'],
    [lights, 'light'],
    [skins, 'skin'],
  ] as const;
  const there = parts.filter(([n]) => n > 0).map(([n, noun]) => count(n, noun));
  return there.length === 0 ? 'no animations, cameras, lights or skins' : there.join(', ');
}

function describeTransforms({ unbaked, negative, uneven }: Survey['transforms']): string {
  if (unbaked.count === 0) return 'all baked';
  const parts = [`${count(unbaked.count, 'part')} turned or scaled by a node`];
  if (negative.count > 0) parts.push(`${formatNumber(negative.count)} mirrored`);
  if (uneven.count > 0) parts.push(`${formatNumber(uneven.count)} unevenly`);
  return parts.join(', ');
}

function describeUnused({ bytes, ...kinds }: Survey['unused']): string {
  const nouns = {
    nodes: ['node', 'nodes'],
    meshes: ['mesh', 'meshes'],
    materials: ['material', 'materials'],
    textures: ['texture', 'textures'],
    images: ['image', 'images'],
    accessors: ['accessor', 'accessors'],
    bufferViews: ['buffer view', 'buffer views'],
  } as const;
  const parts = (Object.keys(nouns) as (keyof typeof nouns)[])
    .filter((kind) => kinds[kind] > 0)
    .map((kind) => count(kinds[kind], nouns[kind][0], nouns[kind][1]));
  if (parts.length === 0) return bytes > 0 ? formatBytes(bytes) : 'nothing';
  return `${parts.join(', ')}; ${formatBytes(bytes)}`;
}

function describeValidator({ validator }: Survey): string {
  const parts = [
    [validator.errors, 'error'],
    [validator.warnings, 'warning'],
    [validator.infos, 'remark'],
  ] as const;
  const there = parts.filter(([n]) => n > 0).map(([n, noun]) => count(n, noun));
  return there.length === 0 ? 'nothing to remark' : there.join(', ');
}
