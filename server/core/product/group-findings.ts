import { joinRepairs } from '../repair/list-proposals.ts';
import { count } from '../texts/format-text.ts';
import type { Finding, FindingCode } from './finding.ts';

/** Codes whose findings each have a cause of their own, however many there are: they stay apart. */
const APART: ReadonlySet<FindingCode> = new Set([
  'unit-slip',
  'size-implausible',
  'size-off-sheet',
  'one-material-many-pieces',
  'broken-geometry',
  // these list their places already
  'damaged-value',
  'dangling-reference',
  'damaged-animation',
  'undeclared-extension',
  'unknown-extension',
  'validator',
  'preparation-step-unfit',
  'slot-without-finish',
  'slot-not-in-model',
  'slot-is-fixed',
  'finish-not-in-options',
  'finish-discontinued',
  'finish-phased-out',
  'rule-broken',
  'normals-not-combined',
]);

/** Places a finding names before it counts the others. */
const NAMED = 3;

/** What is said of several places at once; the figures of each stand with its place. */
const TOGETHER: Partial<Record<FindingCode, (places: number) => string>> = {
  'unnamed-material': (n) =>
    `${count(n, 'material')} have no name, so their slots are found again only by their place in the file. Name the materials.`,
  'duplicate-material-name': (n) =>
    `${count(n, 'name')} are used by several materials each. Their slots are numbered in the order of the file, which the next export may change. Rename the materials.`,
  'metal-on-nonmetal': (n) =>
    `${count(n, 'material')} are metallic, but their names, colours or roughness suggest other materials. Set their metalness to 0.`,
  'colour-map-blocks-recolour': (n) =>
    `${count(n, 'material')} have a colour map. A finish replaces it, and what is painted into it is not shown. As neutral detail, a pattern stays under every finish without its hue.`,
  'alpha-in-colour-map': (n) =>
    `${count(n, 'material')} get their shape from the alpha of a colour map. It is kept under every finish.`,
  'animated-material': (n) =>
    `Animations drive ${count(n, 'material')}. They still drive the materials of the model, but not the finishes on them.`,
  'missing-uv': (n) =>
    `Parts of ${count(n, 'material')} have no UVs, so finishes show their colour and gloss there, but no weave or grain. Export the parts with UVs, or generate box UVs.`,
  'uneven-density': (n) =>
    `${count(n, 'material')} have UVs of uneven density, so one pattern comes out at several sizes. Unwrap the parts at one density, or generate box UVs.`,
  'uv-scale-unknown': (n) =>
    `The size of the UVs of ${count(n, 'material')} cannot be measured, so patterns may come out at the wrong size. Export the parts with UVs that cover them, or generate box UVs.`,
  'uv-overlap': (n) =>
    `${count(n, 'material')} have UVs that overlap. This is right for mirrored or tiled parts, and wrong for maps that are painted or baked for each place.`,
  'uv-stretch': (n) =>
    `${count(n, 'material')} have stretched UVs, so weave and grain come out stretched. Unwrap the parts evenly.`,
  'constant-map': (n) => `${count(n, 'image')} have one colour all over. A factor of the material does the same.`,
  'image-undecodable': (n) =>
    `${count(n, 'image')} cannot be decoded, so parts are shown without them. Export the model again with these images whole.`,
  'implausible-map': (n) =>
    `${count(n, 'map')} do not hold what they are used for. Look at each, and export those that are wrong again.`,
  'texture-quality': (n) =>
    `${count(n, 'JPEG image')} are strongly compressed. Ask for better ones if you can see their blocks.`,
};

/**
 * One finding for each cause. Findings of one code and severity become one that lists their places, stands where the first
 * of them stood, and carries repairs that settle all of them. Others are left as they are.
 */
export function groupFindings(findings: readonly Finding[]): Finding[] {
  const groups = new Map<string, Finding[]>();
  findings.forEach((finding, at) => {
    const key = APART.has(finding.code) ? String(at) : `${finding.code} ${finding.severity} ${finding.asks ?? false}`;
    const group = groups.get(key);
    if (group) group.push(finding);
    else groups.set(key, [finding]);
  });
  return [...groups.values()].map((group) => (group.length === 1 ? group[0]! : join(group)));
}

function join(group: readonly Finding[]): Finding {
  const { code, severity, where, message, asks } = group[0]!;
  const repairs = joinRepairs(group.flatMap((finding) => finding.repairs ?? []));
  const others = group.length - 1;
  return {
    code,
    severity,
    where,
    place: sayPlaces(group),
    message:
      TOGETHER[code]?.(group.length) ??
      `${message} ${count(others, 'more place')} ${others === 1 ? 'has a finding' : 'have findings'} of this kind.`,
    places: group.map(({ code: _, severity: __, asks: ___, ...rest }) => rest),
    ...(repairs.length > 0 && { repairs }),
    ...(asks && { asks }),
  };
}

/** The first places by name, and how many there are besides. */
function sayPlaces(group: readonly Finding[]): string {
  const named = group.slice(0, NAMED).map(({ place, where }) => place ?? where);
  const others = group.length - named.length;
  return others > 0 ? `${named.join('; ')} and ${count(others, 'more place')}` : named.join('; ');
}
