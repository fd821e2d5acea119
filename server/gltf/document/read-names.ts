import type { NodeGroup } from '../../core/product/survey.ts';
import { type GltfJson, VARIANTS } from './json.ts';

/** A name of the document as text, cut to 200 characters; empty when it is no text. */
export function readName(value: unknown): string {
  return typeof value === 'string' ? [...value.slice(0, 400)].slice(0, 200).join('') : '';
}

/** Nodes that a group names; its count covers all of them. */
const NAMED = 20;

/** Nodes as a survey lists them: their number, and the names of the first. */
export function describeNodes({ nodes = [] }: GltfJson, members: readonly number[]): NodeGroup {
  return {
    count: members.length,
    first: members.slice(0, NAMED).map((node) => ({ node, name: readName(nodes[node]!.name) })),
  };
}

/** Names of the variants in the order of `KHR_materials_variants`. */
export function listVariantNames(json: GltfJson): string[] {
  const variants = json.extensions?.[VARIANTS]?.variants;
  return Array.isArray(variants) ? variants.map((variant) => String((variant as { name?: unknown })?.name ?? '')) : [];
}
