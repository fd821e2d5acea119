import type {
  ChannelFacts,
  ImageContent,
  Survey,
  SurveyedImage,
  SurveyedMaterial,
} from '../../../../server/core/product/survey.ts';
import { capitalise } from '../../../../server/core/texts/format-text.ts';
import { formatBytes, formatSignedLength, formatSize, formatToWhole, listNames } from '../../../format.ts';
import { commonTexts } from '../../../texts/common.ts';
import { contentsTexts } from '../../../texts/product-contents.ts';
import type { Units } from '../../../units.ts';

type SurveyedMap = SurveyedMaterial['maps'][number];

/** The usual name of a map: its own, or the words of the property that holds it. */
export function nameMap({ use }: SurveyedMap): string {
  const property = use.split('.').at(-1) ?? use;
  const known = contentsTexts.mapNames[property];
  if (known) return known;
  const words = property
    .replace(/Texture$/, '')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase();
  return capitalise(words);
}

/** Whether a map's colour matters. */
export function isColour({ use }: SurveyedMap): boolean {
  return /(baseColor|emissive)Texture$/.test(use);
}

/** A mean ΔE*ab below this comes from dither and compression, not from a pattern (judgement). */
const PLAIN_DELTA_E = 2;
/** Compression noise leaves a small share of texels odd; from this share on, a map counts as sound. */
const NEARLY_ALL = 0.98;

/** The content of a map, read by its use: “single colour”, “pattern, ΔE 12, with alpha”, “roughness 0.62”. */
export function describeMap(map: SurveyedMap, image: SurveyedImage | undefined): string {
  const content = image?.content;
  if (!content) return image?.undecodable ? contentsTexts.unreadable(image.undecodable) : contentsTexts.notRead;
  const property = map.use.split('.').at(-1);
  if (property === 'normalTexture') return describeNormal(content);
  if (property === 'metallicRoughnessTexture') {
    const [, rough, metal] = content.channels;
    return contentsTexts.roughnessAndMetal(describeChannel(rough), describeChannel(metal));
  }
  if (property === 'occlusionTexture') return describeChannel(content.channels[0]);
  return describeColour(content, property === 'baseColorTexture');
}

function describeColour({ constant, colour, hasAlpha }: ImageContent, isBase: boolean): string {
  const kind = constant
    ? contentsTexts.singleColour
    : colour.deltaE < PLAIN_DELTA_E
      ? contentsTexts.nearlySingleColour(colour.deltaE.toFixed(1))
      : contentsTexts.pattern(colour.deltaE.toFixed(colour.deltaE < 10 ? 1 : 0));
  return contentsTexts.meanColour(kind, colour.hex, isBase && hasAlpha);
}

function describeNormal({ constant, normal }: ImageContent): string {
  if (constant) return contentsTexts.flatNormals;
  if (normal.unit >= NEARLY_ALL && normal.outward >= NEARLY_ALL) return contentsTexts.plausibleNormals;
  return contentsTexts.oddNormals(formatShare(normal.unit), formatShare(normal.outward));
}

function describeChannel(channel: ChannelFacts | undefined): string {
  if (!channel) return commonTexts.notKnown;
  const { mean, min, max } = channel;
  if (max - min <= TWO_CODES) return contentsTexts.uniform(mean.toFixed(2));
  return contentsTexts.range(mean.toFixed(2), min.toFixed(2), max.toFixed(2));
}

/** The survey counts a channel as constant within two codes of 255. */
const TWO_CODES = 2 / 255;

/** “1024 × 1024 px JPEG, 320 kB”. */
export function describeFile({ widthPx, heightPx, mimeType, bytes, jpegQuality }: SurveyedImage): string {
  const size = widthPx !== null && heightPx !== null ? `${widthPx} × ${heightPx} px ` : '';
  const format = mimeType?.replace('image/', '').toUpperCase() ?? contentsTexts.unknownFormat;
  return contentsTexts.imageFile(size, format, jpegQuality, formatBytes(bytes));
}

/** An area in m², or in cm² below 0.01 m². */
export function formatArea(areaM2: number): string {
  if (areaM2 === 0) return contentsTexts.noArea;
  if (areaM2 < 0.01) return `${formatToWhole(areaM2 * 10_000)} cm²`;
  return `${formatToWhole(areaM2)} m²`;
}

/** “0.84 m²”, “12 pieces”, “4,320 triangles”. */
export function listCoverage({ areaM2, pieces, triangles }: SurveyedMaterial): string[] {
  return [formatArea(areaM2), contentsTexts.pieces(pieces), contentsTexts.triangles(triangles)];
}

/** The factors for metalness and roughness, and the alpha mode and sidedness where they are not the default. */
export function listFactors({ factors, alphaMode, doubleSided }: SurveyedMaterial): string[] {
  return [
    contentsTexts.metalness(formatToWhole(factors.metallic)),
    contentsTexts.roughness(formatToWhole(factors.roughness)),
    ...(alphaMode === 'MASK' ? [contentsTexts.alphaCutout] : []),
    ...(alphaMode === 'BLEND' ? [contentsTexts.alphaBlended] : []),
    ...(doubleSided ? [contentsTexts.doubleSided] : []),
  ];
}

/** Shares below half a per cent round to 0 and are left out. */
const LEAST_SHARE = 0.005;

/** The measurements of a material's UVs, as short statements. */
export function listUvFacts({ uv, lay, metresPerUv, neutralDetail }: SurveyedMaterial): string[] {
  if (!uv) return [contentsTexts.noUvs];
  const { coverage, overlap, outside, stretch, pxPerMm, sizes } = uv;
  const shareOrNull = (value: number) => (value >= LEAST_SHARE ? formatShare(value) : null);
  return [
    contentsTexts.uvCoverage(formatShare(coverage), shareOrNull(overlap), shareOrNull(outside)),
    contentsTexts.stretch(formatToWhole(stretch)),
    ...(pxPerMm === null ? [] : [contentsTexts.pxPerMm(formatToWhole(pxPerMm))]),
    ...(metresPerUv === null
      ? []
      : [
          contentsTexts.uvScale(formatToWhole(metresPerUv)) +
            describeDifference(Math.abs(lay.metresPerU / lay.metresPerV)),
        ]),
    ...(sizes ? [contentsTexts.repeatSizes(Math.round(sizes.low * 100), Math.round(sizes.high * 100))] : []),
    ...(lay.texCoord > 0 ? [contentsTexts.uvSet(lay.texCoord)] : []),
    ...(neutralDetail ? [contentsTexts.neutralDetail(formatToWhole(neutralDetail.mean))] : []),
  ];
}

/** How much the scales along U and V differ; empty below one per cent. */
function describeDifference(ratio: number): string {
  if (Math.max(ratio, 1 / ratio) < 1.01) return '';
  return ratio > 1
    ? contentsTexts.longerAlongU(formatToWhole(ratio))
    : contentsTexts.longerAlongV(formatToWhole(1 / ratio));
}

const formatShare = (share: number) => `${Math.round(share * 100)} %`;

type Fact = readonly [name: string, value: string];

/** The facts of a model apart from its materials, as names and values. */
export function listFacts(survey: Survey, units: Units): Fact[] {
  const { counts, size, box, gpu, extensions, transforms, hidden, variants, unused, validator } = survey;
  const { facts } = contentsTexts;
  const list = (names: readonly string[]) => (names.length === 0 ? contentsTexts.none : listNames(names));
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
  const format = (metres: number) => formatSignedLength(metres * 1000, units);
  const centre = (axis: number) => format((min[axis]! + max[axis]!) / 2);
  return contentsTexts.position(format(min[1]!), format(max[1]!), centre(0), centre(2), units === 'inch' ? 'in' : 'mm');
}

function describeTransforms({ unbaked, negative, uneven }: Survey['transforms']): string {
  return unbaked.count === 0
    ? contentsTexts.allBaked
    : contentsTexts.unbaked(unbaked.count, negative.count, uneven.count);
}
