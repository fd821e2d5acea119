/** “1 part”, “3 parts”. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${formatNumber(n)} ${n === 1 ? one : many}`;
}

/** A whole number with commas between thousands. */
export function formatNumber(n: number | bigint): string {
  return String(n).replace(/\B(?=(\d{3})+$)/g, ',');
}

/** Bytes in decimal megabytes or kilobytes, as file sizes are quoted. */
export function formatBytes(bytes: number): string {
  return bytes >= 100_000 ? `${(bytes / 1e6).toFixed(1)} MB` : `${(bytes / 1e3).toFixed(1)} kB`;
}

/** Metres as mm: whole millimetres, tenths below ten. */
export function formatMm(metres: number): string {
  const mm = metres * 1000;
  return Math.abs(mm) < 10 ? `${mm.toFixed(1)} mm` : `${formatNumber(Math.round(mm))} mm`;
}

/** Names in quotation marks, the first few, and how many more of all. */
export function listNames(names: readonly string[], atMost = 3, all = names.length): string {
  const shown = names.slice(0, atMost).map((name) => `“${name}”`);
  const rest = all - shown.length;
  if (rest > 0) return `${shown.join(', ')}${shown.length > 0 ? ' and ' : ''}${formatNumber(rest)} more`;
  return shown.length > 1 ? `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}` : (shown[0] ?? '');
}

/** A share, 0–1, in per cent. */
export function formatPercent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

/** The same with a capital letter at the beginning. */
export function capitalise(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A size in mm as width × depth × height: whole millimetres, tenths below ten. */
export function formatSize({
  widthMm,
  depthMm,
  heightMm,
}: {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}): string {
  return `${[widthMm, depthMm, heightMm].map(formatWholeMm).join(' × ')} mm`;
}

/** A length in mm without its unit. */
export function formatWholeMm(mm: number): string {
  return mm < 10 ? mm.toFixed(1) : formatNumber(Math.round(mm));
}

/** “has” or “have”, “it” or “them”: the word for one, or the word for several. */
export function pick(n: number, one: string, many: string): string {
  return n === 1 ? one : many;
}

interface Named {
  readonly name: string;
  readonly index: number;
}

/** Where a finding is, for a person. */
export const PLACES = {
  file: 'the file',
  model: 'the whole model',
  size: 'overall size',
  mount: (mount: string) => `where it stands (${mount})`,
  step: (step: number) => `step ${step} of the preparation`,
  scenes: (n: number) => count(n, 'scene'),
  animations: (n: number) => count(n, 'animation'),
  materials: (n: number) => count(n, 'material'),
  primitives: (n: number) => count(n, 'primitive'),
  parts: (n: number) => count(n, 'part'),
  places: (n: number) => count(n, 'place'),
  /** A material by its name, and the nodes that show it. */
  material: ({ nodes, ...material }: Named & { readonly nodes: readonly string[] }) =>
    nodes.length > 0 ? `${nameMaterial(material)} on ${listNames(nodes)}` : nameMaterial(material),
  sameName: (indices: readonly number[]) => listNames(indices.map((index) => `material ${index}`)),
  pieces: (materials: readonly string[], nodes: readonly string[]) =>
    `${listNames(materials)}${nodes.length > 0 ? ` on ${listNames(nodes)}` : ''}`,
  /** An image by its name, and what it is to the first material that uses it. */
  image: ({ name, index }: Named, owner: { readonly map: string; readonly material: Named } | null, others: number) => {
    const label = name ? `image “${name}”` : `image ${index}`;
    if (!owner) return label;
    const { material } = owner;
    const of = material.name ? `“${material.name}”` : nameMaterial(material);
    return `${label}, ${MAP_NAMES[owner.map] ?? 'map'} of ${of}${others > 0 ? `, and ${others} more` : ''}`;
  },
  fault: (fault: string) => FAULT_NAMES[fault] ?? fault,
  /** A map of a finish. */
  map: (use: string) => `${use} map`,
  slot: (label: string) => `“${label}”`,
  slotInFinishes: (label: string, finishes: readonly string[]) =>
    `“${label}” in ${finishes.length === 1 ? finishes[0] : count(finishes.length, 'finish', 'finishes')}`,
  /** The first few, and how many there are besides. */
  several: (places: readonly string[], atMost: number) => {
    const more = places.length - atMost;
    const first = places.slice(0, atMost).join('; ');
    return more > 0 ? `${first} and ${formatNumber(more)} more` : first;
  },
} as const;

/** A material within a sentence. */
export function labelMaterial({ name, index }: Named): string {
  return name ? `“${name}”` : `unnamed material ${index}`;
}

function nameMaterial({ name, index }: Named): string {
  return name ? `material “${name}”` : `unnamed material ${index}`;
}

const MAP_NAMES: Readonly<Record<string, string>> = {
  baseColorTexture: 'colour map',
  metallicRoughnessTexture: 'metalness and roughness map',
  normalTexture: 'normal map',
  occlusionTexture: 'occlusion map',
  emissiveTexture: 'emission map',
};

const FAULT_NAMES: Readonly<Record<string, string>> = {
  'positions-not-finite': 'positions that are not finite',
  'index-out-of-range': 'indices out of range',
  'not-readable': 'geometry that cannot be read',
  'zero-area': 'zero-area triangles',
  'empty-primitive': 'empty primitives',
  'points-or-lines': 'points or lines',
};

const UNITS: Readonly<Record<string, string>> = { mm: 'millimetres', cm: 'centimetres', inch: 'inches', foot: 'feet' };

/** The unit that explains a size, in words that follow “if”. @param unit such as `cm`, or `metres taken for inch` */
export function describeUnit(unit: string): string {
  const mistaken = /^metres taken for (.*)$/.exec(unit)?.[1];
  return mistaken === undefined
    ? `the model was drawn in ${UNITS[unit] ?? unit}`
    : `its metres were read as ${UNITS[mistaken] ?? mistaken}`;
}
