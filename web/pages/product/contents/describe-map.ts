import type {
  ChannelFacts,
  ImageContent,
  SurveyedImage,
  SurveyedMaterial,
} from '../../../../server/core/product/survey.ts';
import { formatBytes } from '../../../format.ts';

type SurveyedMap = SurveyedMaterial['maps'][number];

/** What a map is called in the trade, by the last part of the property that names it. */
const WORDS: Readonly<Record<string, string>> = {
  baseColorTexture: 'Colour',
  metallicRoughnessTexture: 'Metal and roughness',
  normalTexture: 'Normal',
  occlusionTexture: 'Occlusion',
  emissiveTexture: 'Emission',
};

export function nameMap({ use }: SurveyedMap): string {
  const last = use.split('.').at(-1) ?? use;
  if (WORDS[last]) return WORDS[last];
  const words = last
    .replace(/Texture$/, '')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase();
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Whether the map's colour is what it is there for. */
export function isColour({ use }: SurveyedMap): boolean {
  return /(baseColor|emissive)Texture$/.test(use);
}

/** A mean ΔE*ab from the mean colour below this is dither and compression, not a pattern (judgement). */
const PLAIN_DELTA_E = 2;
/** A share of texels from this on is all of them but for compression's noise. */
const NEARLY_ALL = 0.98;

/** What is in a map, read as what it is used for: “one colour”, “pattern, ΔE 12, with alpha”, “roughness 0.62”. */
export function describeMap(map: SurveyedMap, image: SurveyedImage | undefined): string {
  const content = image?.content;
  if (!content) return image?.undecodable ? `cannot be read: ${image.undecodable}` : 'not read here';
  const last = map.use.split('.').at(-1);
  if (last === 'normalTexture') return describeNormal(content);
  if (last === 'metallicRoughnessTexture') {
    const [, rough, metal] = content.channels;
    return `roughness ${describeChannel(rough)}, metal ${describeChannel(metal)}`;
  }
  if (last === 'occlusionTexture') return describeChannel(content.channels[0]);
  return describeColour(content, last === 'baseColorTexture');
}

function describeColour({ constant, colour, hasAlpha }: ImageContent, isBase: boolean): string {
  const kind = constant
    ? 'one colour, could be a factor'
    : colour.deltaE < PLAIN_DELTA_E
      ? `nearly one colour, ΔE ${colour.deltaE.toFixed(1)}`
      : `pattern, ΔE ${colour.deltaE.toFixed(colour.deltaE < 10 ? 1 : 0)}`;
  return `${kind}, mean ${colour.hex}${isBase && hasAlpha ? ', with alpha' : ''}`;
}

function describeNormal({ constant, normal }: ImageContent): string {
  if (constant) return 'flat throughout';
  if (normal.unit >= NEARLY_ALL && normal.outward >= NEARLY_ALL) return 'plausible';
  return `${share(normal.unit)} of unit length, ${share(normal.outward)} point outwards`;
}

function describeChannel(channel: ChannelFacts | undefined): string {
  if (!channel) return 'not known';
  if (channel.max - channel.min <= TWO_CODES) return `${channel.mean.toFixed(2)} throughout`;
  return `${channel.mean.toFixed(2)} (${channel.min.toFixed(2)}–${channel.max.toFixed(2)})`;
}

/** As the survey has it: constant is within two codes of 255. */
const TWO_CODES = 2 / 255;

/** “1024 × 1024 px JPEG, 320 kB”. */
export function describeFile({ widthPx, heightPx, mimeType, bytes, jpegQuality }: SurveyedImage): string {
  const size = widthPx !== null && heightPx !== null ? `${widthPx} × ${heightPx} px ` : '';
  const kind = mimeType?.replace('image/', '').toUpperCase() ?? 'unknown format';
  return `${size}${kind}${jpegQuality === null ? '' : ` of quality ${jpegQuality}`}, ${formatBytes(bytes)}`;
}

const share = (value: number) => `${Math.round(value * 100)} %`;
