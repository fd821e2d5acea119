import { Raycaster, Vector2 } from 'three';
import type { PieceMap } from '../../../server/core/product/piece-map.ts';
import type { Product } from '../load-product.ts';
import type { StudioScene } from '../studio-scene.ts';
import type { ViewPlace } from './camera-moves.ts';
import { listInside } from './lasso.ts';
import type { Marks } from './marks.ts';
import type { Hit, Picker, Selection } from './picker.ts';

/** Most pixels along a side in which a lasso looks for parts. */
const LASSO_PX = 1024;

/**
 * The parts of a product that can be pointed at, enclosed and marked, as soon as they are known.
 * @param onMarked follows a change of the marks
 */
export function createPartPicking(studio: StudioScene, marks: Marks, onMarked: () => void) {
  const raycaster = new Raycaster();
  let picker: Picker | null = null;
  let picking = new AbortController();
  let pickable: Promise<boolean> = Promise.resolve(false);
  let selections: readonly [Selection, Selection] | null = null;

  function applyMarks(): void {
    if (!picker || !selections) return;
    const [lit, picked] = selections;
    marks.mark({ lit: picker.listThings(lit), picked: picker.listThings(picked) });
    onMarked();
  }

  async function makePickable(of: Product, pieces: Promise<PieceMap | null>, signal: AbortSignal): Promise<boolean> {
    const { createPicker } = await import('./picker.ts');
    const made = await createPicker(of, signal);
    if (!made || signal.aborted) return false;
    picker = made;
    const use = () => {
      marks.setTriangles(made.geometry, made.countThings());
      applyMarks();
    };
    use();
    const map = await pieces.catch(() => null);
    if (!map || signal.aborted) return false;
    await made.setPieces(map);
    if (signal.aborted) return false;
    use();
    return true;
  }

  return {
    /** Makes the parts of a product known, without holding up its pictures. */
    use(product: Product, pieces: Promise<PieceMap | null>): void {
      pickable = makePickable(product, pieces, picking.signal);
      pickable.catch(() => undefined);
    },

    /** Forgets the parts. */
    drop(): void {
      picking.abort();
      picking = new AbortController();
      marks.setTriangles(null, 0);
      picker?.dispose();
      picker = null;
    },

    /** Resolves when parts can be pointed at; to whether pieces are known. */
    whenPickable: () => pickable,

    mark(lit: Selection, picked: Selection): void {
      selections = [lit, picked];
      applyMarks();
    },

    /** What a viewer sees at a place, as a share of a pane; null without a part, or before the parts are known. */
    pickAt({ x, y }: ViewPlace): Hit | null {
      if (!picker) return null;
      studio.withCamera((camera) => raycaster.setFromCamera(new Vector2(x * 2 - 1, 1 - y * 2), camera));
      const { ray } = raycaster;
      ray.applyMatrix4(studio.turntable.matrixWorld.clone().invert());
      return picker.pick(ray);
    },

    /**
     * The pieces that a line encloses; null if it encloses nothing, or the parts changed meanwhile.
     * @param drawn size of the picture, px
     */
    async listEnclosed(
      line: readonly ViewPlace[],
      drawn: { readonly widthPx: number; readonly heightPx: number },
    ): Promise<string[] | null> {
      const chosen = picker;
      if (!chosen || line.length < 3) return null;
      const share = Math.min(1, LASSO_PX / Math.max(drawn.widthPx, drawn.heightPx));
      const [widthPx, heightPx] = [drawn.widthPx, drawn.heightPx].map((px) => Math.max(1, Math.round(px * share)));
      const things = await marks.readThings(widthPx!, heightPx!);
      if (marks.any()) marks.prepare(drawn.widthPx, drawn.heightPx);
      if (chosen !== picker) return null;
      return listInside(things, widthPx!, heightPx!, line).flatMap((thing) => chosen.getPiece(thing) ?? []);
    },
  };
}
