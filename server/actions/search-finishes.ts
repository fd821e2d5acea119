import { foldCode } from '../core/codes.ts';
import type { Lab } from '../core/colour/lab.ts';
import { type FinishQuery, makeFinishTest } from '../core/finish/find-finishes.ts';
import type { StoredFinish } from '../core/finish/finish.ts';
import type { ColourTable } from '../core/ports/planner.ts';
import type { Context } from './context.ts';
import { giveTurn } from './in-turns.ts';
import { loadFinishes } from './load-finishes.ts';
import type { FinishLibrary } from './loaded-product.ts';

/** Finishes that are tested, or whose colour is resolved, in one go: some milliseconds. */
const AT_ONCE = 25;

interface FoundFinish {
  readonly finish: StoredFinish;
  /** Null without a search colour. */
  readonly deltaE: number | null;
}

interface Found {
  readonly library: FinishLibrary;
  readonly found: readonly FoundFinish[];
  /** Where the next page begins; null on the last one. */
  readonly next: number | null;
}

/**
 * Finishes that match a query, in the library's order, or the nearest to a colour first.
 * @param signal aborts when the caller leaves
 */
export async function searchFinishes(
  context: Context,
  {
    near,
    limit,
    after = 0,
    ...query
  }: FinishQuery & { readonly near?: Lab; readonly limit: number; readonly after?: number },
  signal?: AbortSignal,
): Promise<Found> {
  const library = await loadFinishes(context);
  const test = makeFinishTest(query);
  const matching: StoredFinish[] = [];
  await inTurns(library.finishes, (finish) => {
    if (test(finish)) matching.push(finish);
  });
  if (!near)
    return page(
      library,
      matching.map((finish) => ({ finish, deltaE: null })),
      after,
      limit,
    );
  const coloured = await listColoured(library, matching);
  const colours = await makeTable(library, coloured);
  const { indices, deltaE } = await context.planner.run(
    { kind: 'nearest', colours, lab: near, limit: after + limit + 1 },
    signal,
  );
  const nearest = Array.from(indices, (index, at) => ({ finish: coloured[index]!, deltaE: deltaE[at]! }));
  return page(library, nearest, after, limit);
}

interface AlikePair {
  readonly a: StoredFinish;
  readonly b: StoredFinish;
  readonly deltaE: number;
}

/**
 * Near-identical pairs: no farther apart than `deltaE`, of one family, article and maps, and similar in roughness. A cloth and a
 * lacquer of one colour are not near-identical. Nearest first.
 * @param signal aborts when the caller leaves
 */
export async function listIndistinguishable(
  context: Context,
  deltaE: number,
  limit: number,
  signal?: AbortSignal,
): Promise<AlikePair[]> {
  const library = await loadFinishes(context);
  const coloured = await listColoured(library, library.finishes);
  const colours = await makeTable(library, coloured);
  const found = await context.planner.run({ kind: 'alike', colours, deltaE, limit }, signal);
  return Array.from(found.deltaE, (apart, pair) => ({
    a: coloured[found.indices[pair * 2]!]!,
    b: coloured[found.indices[pair * 2 + 1]!]!,
    deltaE: apart,
  }));
}

/** Resolves the finishes of a library, so that asking for them later costs nothing. */
async function listColoured(library: FinishLibrary, finishes: readonly StoredFinish[]): Promise<StoredFinish[]> {
  const coloured: StoredFinish[] = [];
  await inTurns(finishes, (finish) => {
    const resolved = library.resolve(finish.finish);
    // a finish whose colour comes from an unmeasurable map has no colour to compare
    if (finish.colour || resolved.delivered) coloured.push(finish);
  });
  return coloured;
}

async function makeTable(library: FinishLibrary, finishes: readonly StoredFinish[]): Promise<ColourTable> {
  const labs = new Float64Array(finishes.length * 3);
  const groups = new Uint32Array(finishes.length);
  const roughness = new Float64Array(finishes.length);
  const numbers = new Map<string, number>();
  await inTurns(finishes, (finish, at) => {
    const { colourLab, maps, roughness: rough } = library.resolve(finish.finish);
    labs.set(colourLab, at * 3);
    roughness[at] = rough;
    const group = JSON.stringify([finish.family, foldCode(finish.article ?? ''), maps.colour, maps.normal]);
    const number = numbers.get(group) ?? numbers.size;
    numbers.set(group, number);
    groups[at] = number;
  });
  return { labs, groups, roughness };
}

function page(library: FinishLibrary, all: readonly FoundFinish[], after: number, limit: number): Found {
  const end = after + limit;
  return { library, found: all.slice(after, end), next: all.length > end ? end : null };
}

/** Does work for each item, with turns of the event loop in between. */
async function inTurns<Item>(items: readonly Item[], work: (item: Item, at: number) => void): Promise<void> {
  for (const [at, item] of items.entries()) {
    if (at > 0 && at % AT_ONCE === 0) await giveTurn();
    work(item, at);
  }
}
