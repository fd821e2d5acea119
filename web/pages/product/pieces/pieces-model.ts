import { batch, computed, type Signal, signal } from '@preact/signals';
import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import type { RepairOf } from '../../../../server/core/repair/repair.ts';
import type { SurveyAnswer } from '../../../../server/http/contracts/survey.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';
import { piecesTexts } from '../../../texts/product-contents.ts';
import type { RepairsModel } from '../readiness/repairs-model.ts';

/**
 * Choosing pieces by hand, to make a slot from them. The pieces are loaded on demand.
 * @param ticked ids of the chosen pieces, which the view shows and changes too
 */
export function createPiecesModel(
  product: string,
  repairs: RepairsModel,
  ticked: Signal<ReadonlySet<string>> = signal<ReadonlySet<string>>(new Set()),
) {
  const open = signal(false);
  const busy = signal(false);
  const problem = signal<string | null>(null);
  const survey = signal<Survey | null>(null);
  const pieces = signal<readonly Piece[]>([]);
  const filter = signal('');
  const name = signal('');
  /** The result of the last separation. */
  const message = signal<string | null>(null);

  const groups = computed(() => groupIdentical(pieces.value));
  const found = computed(() => (survey.value ? filterGroups(groups.value, filter.value, survey.value) : []));

  async function load(): Promise<void> {
    busy.value = true;
    problem.value = null;
    try {
      const answer = await get<SurveyAnswer>(`/api/products/${seg(product)}/survey?pieces=1`);
      batch(() => {
        survey.value = answer;
        pieces.value = answer.pieces ?? [];
        const there = new Set(pieces.value.map(({ piece }) => piece));
        ticked.value = new Set([...ticked.value].filter((piece) => there.has(piece)));
      });
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  function toggle(): void {
    open.value = !open.value;
    if (open.value) void load();
  }

  /** Reloads the pieces after a change of the model. */
  async function reload(): Promise<void> {
    // a closed list is loaded again once it is needed
    survey.value = null;
    pieces.value = [];
    if (open.value) await load();
  }

  function tick(some: readonly Piece[], on: boolean): void {
    ticked.value = tickPieces(ticked.value, some, on);
    message.value = null;
  }

  function untickAll(): void {
    ticked.value = new Set();
  }

  async function separate(): Promise<void> {
    // pieces can be picked in the view while the list is closed
    if (!survey.value) await load();
    if (!survey.value) return;
    const plan = planSeparations(pieces.value, ticked.value, name.value.trim(), survey.value);
    busy.value = true;
    problem.value = null;
    const done = await repairs.apply(plan);
    batch(() => {
      busy.value = false;
      if (!done) {
        problem.value = repairs.problem.value?.text ?? null;
        repairs.problem.value = null;
        return;
      }
      message.value = repairs.made.value?.reports.map(({ message }) => message).join(' ') ?? null;
      ticked.value = new Set();
      name.value = '';
    });
  }

  return {
    open,
    busy,
    problem,
    survey,
    pieces,
    ticked,
    filter,
    name,
    message,
    groups,
    found,
    toggle,
    reload,
    tick,
    untickAll,
    separate,
  };
}

/** Pieces of one material and shape: four legs, twelve screws. */
export interface IdenticalPieces {
  readonly key: string;
  readonly material: number | null;
  readonly pieces: readonly Piece[];
  /** The sum of all pieces. */
  readonly areaM2: number;
  readonly triangles: number;
  /** Up to three different node names. */
  readonly nodes: readonly string[];
  /** Up to six different colours, sRGB hex. */
  readonly colours: readonly string[];
}

/** Groups pieces by material and shape, the largest area first. */
export function groupIdentical(pieces: readonly Piece[]): IdenticalPieces[] {
  const groups = new Map<string, Piece[]>();
  for (const piece of pieces) {
    const key = `${piece.material} ${piece.shape}`;
    const group = groups.get(key);
    if (group) group.push(piece);
    else groups.set(key, [piece]);
  }
  for (const group of groups.values()) group.sort(byName);
  return [...groups]
    .map(([key, group]) => ({
      key,
      material: group[0]!.material,
      pieces: group,
      areaM2: group.reduce((sum, { areaM2 }) => sum + areaM2, 0),
      triangles: group.reduce((sum, { triangles }) => sum + triangles, 0),
      nodes: listDifferent(
        group.flatMap(({ nodes }) => nodes),
        3,
      ),
      colours: listDifferent(
        group.flatMap(({ hex }) => hex ?? []),
        6,
      ),
    }))
    .sort((a, b) => b.areaM2 - a.areaM2);
}

/** Sorts “leg 2” before “leg 10”. */
const { compare } = new Intl.Collator('en', { numeric: true });
const byName = (a: Piece, b: Piece) => compare(a.nodes[0] ?? '', b.nodes[0] ?? '');

function listDifferent(words: readonly string[], atMost: number): string[] {
  return [...new Set(words)].slice(0, atMost);
}

/** The groups where each word of the text occurs in a node's name, the material's name or a colour. */
export function filterGroups(groups: readonly IdenticalPieces[], text: string, survey: Survey): IdenticalPieces[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return [...groups];
  return groups.filter(({ pieces, material, colours }) => {
    const nodes = pieces.flatMap((piece) => piece.nodes);
    const searched = [...nodes, nameMaterial(material, survey), ...colours].join('\n').toLowerCase();
    return words.every((word) => searched.includes(word));
  });
}

export function nameMaterial(material: number | null, survey: Survey): string {
  if (material === null) return piecesTexts.noMaterial;
  return survey.materials[material]?.name || piecesTexts.unnamedMaterial(material);
}

/**
 * The repairs that make a slot from the ticked pieces: one for each material they have now. Pieces without a material
 * are left out, because the repair separates by material.
 */
export function planSeparations(
  pieces: readonly Piece[],
  ticked: ReadonlySet<string>,
  name: string,
  survey: Survey,
): RepairOf<'separate-pieces'>[] {
  const byMaterial = new Map<number, Set<string>>();
  for (const { piece, material } of pieces) {
    if (material === null || !ticked.has(piece)) continue;
    const ids = byMaterial.get(material) ?? new Set();
    byMaterial.set(material, ids.add(piece));
  }
  return [...byMaterial].map(([material, ids]) => ({
    repair: 'separate-pieces',
    material: referTo(material, survey),
    groups: [{ name, pieces: [...ids] }],
  }));
}

/** A reference to a material: its name, or its pointer where the name is not unique. */
function referTo(material: number, { materials }: Survey): string {
  const name = materials[material]?.name ?? '';
  const alike = materials.filter((other) => other.name === name).length;
  return name !== '' && alike === 1 && !name.startsWith('/') ? name : `/materials/${material}`;
}

/** Ticks or unticks pieces. */
export function tickPieces(ticked: ReadonlySet<string>, pieces: readonly Piece[], on: boolean): Set<string> {
  const next = new Set(ticked);
  for (const { piece } of pieces) {
    if (on) next.add(piece);
    else next.delete(piece);
  }
  return next;
}
