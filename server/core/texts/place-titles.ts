import { count, formatNumber, listNames } from './format-text.ts';

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
  metallicRoughnessTexture: 'roughness and metalness map',
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
