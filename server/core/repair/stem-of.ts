/** Words that tell parts of one kind apart, at either end of a name. */
const SIDES = new Set(
  'left right front rear upper lower top bottom inner outer middle centre center l r fl fr bl br lh rh'.split(' '),
);
/** At the end only: a “back rest” is no rest. */
const TRAILING = new Set(['back', 'copy', 'instance', 'mesh', 'geo']);
/** What programs call things nobody has named. */
const GENERIC = new Set(
  (
    'mesh node object obj part parts piece component solid body cube box cylinder sphere plane group geometry geo default ' +
    'polysurface shape unnamed element model product scene root instance surface mat material primitive'
  ).split(' '),
);

/**
 * What the name of a node calls the kind of part: `leg_front_left` and `leg_02` are both “leg”. Empty where the name does
 * not tell (`Mesh.001`).
 */
export function stemOf(name: string | undefined): string {
  const words = (name ?? '')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .split(/[^\p{L}\p{N}]+/u)
    .map((word) => word.replace(/\d+$/, ''))
    .filter((word) => word !== '' && !/^\d/.test(word));
  while (words.length > 1 && (SIDES.has(words.at(-1)!) || TRAILING.has(words.at(-1)!))) words.pop();
  while (words.length > 1 && SIDES.has(words[0]!)) words.shift();
  return words.every((word) => GENERIC.has(word) || SIDES.has(word)) ? '' : words.join(' ');
}
