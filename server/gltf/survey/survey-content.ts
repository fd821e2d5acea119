import type { NodeGroup, Survey, SurveyedImage } from '../../core/product/survey.ts';
import type { Container } from '../document/container.ts';
import type { GltfJson } from '../document/json.ts';
import { bestSource } from '../document/texture-uses.ts';
import type { Matrix } from '../document/world-matrices.ts';
import { findReachable, type ObjectKind, type Reachable } from './find-reachable.ts';
import { listHidden } from './list-hidden.ts';
import { measureGeometryMemory } from './list-readers.ts';
import { measureWeight } from './measure-weight.ts';

type Content = Pick<Survey, 'hidden' | 'scenesWithChildren' | 'unused' | 'gpu'> & {
  readonly causes: Survey['weight']['causes'];
};

/** Nodes named with a group; the count says how many there are. */
const NAMED = 20;

/**
 * What a file holds beyond what is seen of it, and what its bytes are for.
 * With an unknown extension no object counts as unused, since it might be referred to: only bytes that no view covers do.
 */
export function surveyContent(
  container: Pick<Container, 'json' | 'jsonBytes' | 'bin'>,
  sceneNodes: readonly { readonly node: number; readonly matrix: Matrix }[],
  images: readonly SurveyedImage[],
): Content {
  const { json } = container;
  const reachable = findReachable(json);
  const { causes, unreadBytes } = measureWeight(container, reachable, images);
  const count = (kind: ObjectKind) => {
    const list = json[kind];
    return (Array.isArray(list) ? list.length : 0) - reachable[kind].size;
  };
  return {
    hidden: groupNodes(json, listHidden(json, sceneNodes)),
    scenesWithChildren: listScenesWithChildren(json),
    unused: {
      nodes: count('nodes'),
      meshes: count('meshes'),
      materials: count('materials'),
      textures: count('textures'),
      images: count('images'),
      accessors: count('accessors'),
      bufferViews: count('bufferViews'),
      bytes: unreadBytes,
    },
    gpu: {
      geometry: measureGeometryMemory(json, reachable),
      textures: measureTextureMemory(json, reachable, images),
    },
    causes,
  };
}

function groupNodes(json: GltfJson, nodes: readonly number[]): NodeGroup {
  return {
    count: nodes.length,
    first: nodes.slice(0, NAMED).map((node) => {
      const { name } = json.nodes![node]!;
      return { node, name: typeof name === 'string' ? name.slice(0, 200) : '' };
    }),
  };
}

/** glTF 2.0 §3.5.1: a scene's nodes are roots. */
function listScenesWithChildren(json: GltfJson): number[] {
  const children = new Set((json.nodes ?? []).flatMap((node) => node.children ?? []));
  return (json.scenes ?? []).flatMap(({ nodes = [] }, scene) => (nodes.some((n) => children.has(n)) ? [scene] : []));
}

/** Mip levels add a third: 1 + 1/4 + 1/16 + … */
const MIPS = 4 / 3;
/** RGBA of eight bits; KTX2 is unpacked to block formats of a byte a texel (BC7, ASTC 4 × 4). */
const TEXEL_BYTES = { plain: 4, ktx2: 1 } as const;

/** Each image that is shown, once; of a texture with several sources the one a reader of all extensions takes. */
function measureTextureMemory(json: GltfJson, { textures }: Reachable, images: readonly SurveyedImage[]): number {
  const shown = new Set([...textures].map((texture) => bestSource(json.textures?.[texture])));
  let bytes = 0;
  for (const index of shown) {
    const { widthPx = 0, heightPx = 0, mimeType = null } = images[index ?? -1] ?? {};
    const texel = mimeType === 'image/ktx2' ? TEXEL_BYTES.ktx2 : TEXEL_BYTES.plain;
    bytes += (widthPx ?? 0) * (heightPx ?? 0) * texel * MIPS;
  }
  return Math.round(bytes);
}
