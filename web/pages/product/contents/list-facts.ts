import type { Survey } from '../../../../server/core/product/survey.ts';
import { formatBytes, formatLength, formatSize, type Units } from '../../../format.ts';
import { commonTexts } from '../../../texts/common.ts';
import { contentsTexts } from '../../../texts/product-contents.ts';

export type Fact = readonly [name: string, value: string];

/** The facts of a model apart from its materials, as names and values. */
export function listFacts(survey: Survey, units: Units): Fact[] {
  const { counts, size, box, gpu, extensions, transforms, hidden, variants, unused, validator } = survey;
  const { facts } = contentsTexts;
  const list = (names: readonly string[]) => (names.length === 0 ? contentsTexts.none : names.join(', '));
  const measured = size && formatSize(size, units);
  return [
    [facts.size, measured ? (survey.sizeIsExact ? measured : contentsTexts.atMost(measured)) : commonTexts.notKnown],
    [facts.position, box ? describePosition(box, units) : commonTexts.notKnown],
    [facts.draws, contentsTexts.drawCalls(counts.draws, counts.triangles)],
    [facts.structure, contentsTexts.structure(counts.nodes, counts.meshes, counts.primitives, counts.pieces)],
    [facts.appearance, contentsTexts.appearance(counts.materials, counts.textures, counts.images)],
    [facts.other, contentsTexts.others(counts.animations, counts.cameras, counts.lights, counts.skins)],
    [facts.transforms, describeTransforms(transforms)],
    ...(hidden.count > 0 ? [[facts.hidden, contentsTexts.hidden(hidden.count)] as const] : []),
    [
      facts.memory,
      contentsTexts.memory(
        formatBytes(gpu.geometry + gpu.textures),
        formatBytes(gpu.geometry),
        formatBytes(gpu.textures),
      ),
    ],
    [facts.unused, contentsTexts.unused(unused, unused.bytes > 0 ? formatBytes(unused.bytes) : null)],
    [facts.extensions, list(extensions.used)],
    ...(extensions.unknown.length > 0 ? [[facts.unknownExtensions, list(extensions.unknown)] as const] : []),
    ...(variants.length > 0 ? [[facts.variants, list(variants)] as const] : []),
    [facts.validator, contentsTexts.validator(validator.errors, validator.warnings, validator.infos)],
    [facts.generator, survey.generator ?? commonTexts.notKnown],
  ];
}

/** Where the bounding box is: its lowest and highest point, and how far its centre is from the origin. */
function describePosition({ min, max }: NonNullable<Survey['box']>, units: Units): string {
  const format = (metres: number) => formatSigned(metres * 1000, units);
  const centre = (axis: number) => format((min[axis]! + max[axis]!) / 2);
  return contentsTexts.position(format(min[1]!), format(max[1]!), centre(0), centre(2), units === 'inch' ? 'in' : 'mm');
}

function formatSigned(mm: number, units: Units): string {
  const text = formatLength(Math.abs(mm), units);
  return mm < 0 && Number(text) !== 0 ? `−${text}` : text;
}

function describeTransforms({ unbaked, negative, uneven }: Survey['transforms']): string {
  return unbaked.count === 0
    ? contentsTexts.allBaked
    : contentsTexts.unbaked(unbaked.count, negative.count, uneven.count);
}
