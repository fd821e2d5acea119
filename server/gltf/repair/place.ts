import type { Mount } from '../../core/picture/picture.ts';
import { count, sayMm } from '../../core/product/say.ts';
import type { GltfJson } from '../json.ts';
import { measureBox } from '../survey/measure-box.ts';
import { listSceneNodes, listTops } from '../survey/world-matrices.ts';
import { decodeEdit } from './decode-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from './repairer.ts';

/** Metres: nearer than a tenth of a millimetre it stands where it should. */
const CLOSE = 1e-4;

/** What is to be at 0: the lowest or highest point, or, against a wall, the back, since fronts face +Z (glTF 2.0 §3.4). */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max'; says: string }>> = {
  floor: { axis: 1, end: 'min', says: 'it stands on the floor' },
  table: { axis: 1, end: 'min', says: 'it stands on the table top' },
  ceiling: { axis: 1, end: 'max', says: 'it hangs from the ceiling' },
  wall: { axis: 2, end: 'min', says: 'its back is at the wall' },
};

/**
 * Sets a model down by its mount: on the floor, on a table, at the wall, under the ceiling, each at 0; centred, unless
 * that is not wanted, over x and z, against a wall over x alone. The scene's roots are shifted and no byte of geometry.
 */
export const place: Repairer<'place'> = {
  async apply(edit, { mount = 'floor', centred = true }) {
    const { json } = edit;
    const { box } = measureBox(await decodeEdit(edit), listSceneNodes(json));
    if (!box) return unfit('The scene shows nothing that could be placed.');
    const { axis, end, says } = CONTACT[mount];
    const shift = [0, 1, 2].map((at) => {
      if (at === axis) return -box[end][at]!;
      return centred && at !== 1 ? -(box.min[at]! + box.max[at]!) / 2 : 0;
    });
    if (shift.every((by) => Math.abs(by) <= CLOSE)) {
      return nothingToDo(`Nothing to move: ${says}${centred ? ', centred' : ''}.`);
    }
    const { moved, wrapped } = shiftScenes(json, shift);
    const told = shift.flatMap((by, at) => (Math.abs(by) > CLOSE ? [`${sayMm(by)} along ${'XYZ'[at]}`] : []));
    return done(
      `Moved ${told.join(', ')}: ${says}${centred ? ', centred' : ''}.` +
        (wrapped > 0
          ? ` ${count(wrapped, 'animated node')} ${wrapped === 1 ? 'hangs from a new node that carries' : 'hang from new nodes that carry'} the shift.`
          : ''),
      { shiftXMm: toMm(shift[0]!), shiftYMm: toMm(shift[1]!), shiftZMm: toMm(shift[2]!), nodes: moved },
    );
  },
};

const toMm = (metres: number) => Math.round(metres * 1e5) / 100;

/**
 * Shifts the roots of every scene, so that scenes which share them agree. A root whose translation is animated would jump
 * back, so it is hung from a new node.
 */
function shiftScenes(json: GltfJson, shift: readonly number[]): { moved: number; wrapped: number } {
  // without a scene, all nodes without a parent are shown
  const tops = new Set((json.scenes ?? []).flatMap(({ nodes = [] }) => listTops(json, nodes)));
  if (!json.scenes?.length) for (const node of listTops(json, [...(json.nodes ?? []).keys()])) tops.add(node);
  const animated = listTranslated(json);
  const wrappers = new Map<number, number>();
  for (const top of tops) {
    const node = json.nodes![top]!;
    if (animated.has(top)) {
      wrappers.set(top, json.nodes!.push({ translation: [...shift], children: [top] }) - 1);
    } else if (node.matrix) {
      node.matrix = node.matrix.map((value, at) => (at > 11 && at < 15 ? value + shift[at - 12]! : value));
    } else {
      const moved = (node.translation ?? [0, 0, 0]).map((value, at) => value + shift[at]!);
      if (moved.every((value) => value === 0)) delete node.translation;
      else node.translation = moved;
    }
  }
  for (const scene of json.scenes ?? []) {
    if (scene.nodes) scene.nodes = scene.nodes.map((listed) => wrappers.get(listed) ?? listed);
  }
  return { moved: tops.size, wrapped: wrappers.size };
}

/** Nodes whose place an animation drives. */
function listTranslated(json: GltfJson): Set<number> {
  const found = new Set<number>();
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.path === 'translation' && typeof target.node === 'number') found.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/nodes\/(\d+)\/(translation|matrix)$/.exec(pointer) : null;
      if (match) found.add(Number(match[1]));
    }
  }
  return found;
}
