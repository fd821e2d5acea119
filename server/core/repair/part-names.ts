import type { Lab } from '../colour/lab.ts';
import { capitalise } from '../texts/format-text.ts';

/** Words that tell parts of one kind apart, at either end of a name. */
const SIDES = new Set(
  'left right front rear upper lower top bottom inner outer middle centre center l r fl fr bl br lh rh'.split(' '),
);
/** Only at the end: a “back rest” is not a rest. */
const TRAILING = new Set(['back', 'copy', 'instance', 'mesh', 'geo', 'low', 'high', 'lowpoly', 'highpoly']);
/** Default names from programs: objects, primitive shapes, rig and file nodes. */
const GENERIC = new Set(
  (
    'mesh node object obj part parts piece component solid cube box cylinder sphere plane group geometry geo default ' +
    'polysurface poly surface shape unnamed element model product scene root instance mat material primitive p grp null ' +
    'pcube pcylinder psphere pplane ptorus circle cone torus icosphere uvsphere curve bezier nurbs path line spline loft ' +
    'rectangle tube extrude sketch sweep revolve imported text empty pivot transform value min max pressed ' +
    'sketchfab gltf glb fbx collada dae usd usdz stl step export exported converted fab lod ' +
    'objekt gruppe netz körper würfel ebene zylinder kugel kegel objet groupe maillage cylindre sphère ' +
    'oggetto gruppo cubo piano cilindro sfera objeto grupo malla esfera plano'
  ).split(' '),
);

/** A part's name as lower-case words without numbers: `Zipper.002_9` is “zipper”, `SeatBack_L` “seat back l”. */
function readWords(name: string): string[] {
  return name
    .normalize('NFC')
    .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .toLowerCase()
    .split(/[^\p{L}\p{N}]+/u)
    .map((word) => word.replace(/\d+$/, ''))
    .filter((word) => word !== '' && !/^\d/.test(word));
}

/** The kind of part in these words: “leg front left” and “leg” are both “leg”; empty where they mean nothing. */
function toStem(words: readonly string[]): string {
  const stem = [...words];
  while (stem.length > 1 && (SIDES.has(stem.at(-1)!) || TRAILING.has(stem.at(-1)!))) stem.pop();
  while (stem.length > 1 && SIDES.has(stem[0]!)) stem.shift();
  return stem.every((word) => GENERIC.has(word) || SIDES.has(word)) ? '' : stem.join(' ');
}

/** The kind of part in a name: `leg_02` and `Leg_front` are both “leg”; empty for `Mesh.001` or `RootNode`. */
export function kindOf(name: string): string {
  return toStem(readWords(name));
}

export const isDescriptive = (name: string) => kindOf(name) !== '';

/** Parts of one kind, with a suitable name for a slot. */
interface NamedPart {
  readonly name: string;
  /** Their names in the file. */
  readonly parts: readonly string[];
}

/**
 * Groups part names by kind: `leg_front_left` and `leg_02` are one kind, “Leg”; `Strap_Left` alone is “Strap left”. It
 * drops a prefix that all of them share (`Chair_seat`, `Chair_leg`). Names without meaning are in no kind.
 */
export function sortParts(names: Iterable<string>): NamedPart[] {
  const telling = [...new Set(names)].filter(isDescriptive).map((part) => ({ part, words: readWords(part) }));
  const shared = countShared(telling.map(({ words }) => words));
  const kinds = new Map<string, { readonly words: readonly string[]; readonly part: string }[]>();
  for (const { part, words: all } of telling) {
    const words = all.slice(shared);
    const stem = toStem(words);
    const members = kinds.get(stem);
    if (members) members.push({ words, part });
    else kinds.set(stem, [{ words, part }]);
  }
  return [...kinds].map(([stem, members]) => {
    const full = new Set(members.map(({ words }) => toName(words)));
    const name = full.size === 1 ? [...full][0]! : stem;
    return { name: capitalise(name), parts: members.map(({ part }) => part) };
  });
}

/** Words for people: the side last and in full, without suffixes that only programs use. */
function toName(words: readonly string[]): string {
  const named = words.map((word) => (word === 'l' ? 'left' : word === 'r' ? 'right' : word));
  if (named.length > 1 && /^(left|right)$/.test(named[0]!)) named.push(named.shift()!);
  while (named.length > 1 && named.at(-1) !== 'back' && (TRAILING.has(named.at(-1)!) || GENERIC.has(named.at(-1)!))) {
    named.pop();
  }
  return named.join(' ');
}

/** Number of words that all names begin with, as long as the rest of each still means something. */
function countShared(names: readonly (readonly string[])[]): number {
  const [first] = names;
  if (!first || names.length < 2) return 0;
  let shared = 0;
  while (names.every((words) => words[shared] === first[shared] && toStem(words.slice(shared + 1)) !== '')) shared++;
  return shared;
}

/**
 * A plain English name for a colour, such as “light brown” or “dark blue”. It names a part until a person renames it.
 * Boundaries are judgement, in lightness L* 0–100, chroma C*ab and hue angle h*ab in degrees.
 */
export function nameColour([lightness, a, b]: Lab): string {
  const chroma = Math.hypot(a, b);
  const hue = ((Math.atan2(b, a) * 180) / Math.PI + 360) % 360;
  if (lightness < 20 && chroma < 12) return 'black';
  if (chroma < 8) return nameGrey(lightness);
  // woods, leathers and earths are dark or muted oranges and yellows
  if (hue >= 30 && hue < 95 && (chroma < 42 || lightness < 48)) {
    if (lightness >= 82) return 'beige';
    if (hue < 45 && chroma >= 42) return withShade(lightness, 'red');
    return lightness >= 62 ? 'light brown' : lightness >= 32 ? 'brown' : 'dark brown';
  }
  const [, name] = HUES.find(([until]) => hue < until) ?? [360, 'red'];
  if (name === 'red' && (hue >= 345 || hue < 20) && lightness >= 60) return 'pink';
  return withShade(lightness, name);
}

/** Hue angles at which a name ends; reds continue from 345 to the first. */
const HUES: readonly (readonly [number, string])[] = [
  [50, 'red'],
  [80, 'orange'],
  [112, 'yellow'],
  [180, 'green'],
  [225, 'turquoise'],
  [310, 'blue'],
  [345, 'violet'],
];

function nameGrey(lightness: number): string {
  if (lightness >= 92) return 'white';
  if (lightness >= 70) return 'light grey';
  return lightness >= 42 ? 'grey' : 'dark grey';
}

function withShade(lightness: number, name: string): string {
  if (lightness < 32) return `dark ${name}`;
  return lightness >= 75 && name !== 'yellow' ? `light ${name}` : name;
}
