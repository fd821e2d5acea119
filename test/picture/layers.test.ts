import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { composeLayers } from '../../renderer/layers/compose-layers.ts';
import { cropLayer, type Layer } from '../../renderer/layers/layer.ts';
import type {
  AssignedMaterial,
  LayerContent,
  ProductShot,
  Renderer,
  StudioFile,
} from '../../server/core/ports/renderer.ts';
import { createModelFolder } from '../renderer/models.ts';
import { openOwnRenderer, openRenderer } from '../renderer/open-renderer.ts';
import { comparePictures } from '../support/compare-pictures.ts';
import { makeLayeredSeat, SEAT_FINISHES, SEAT_PARTS, seatMaterial } from '../support/layered-seat.ts';
import { createRandom } from '../support/random.ts';
import { takeLayer } from '../support/take-layer.ts';

const SIZE = { widthPx: 176, heightPx: 160 };

/** One finish per part; -1 is the part's own material. */
type Combination = readonly number[];

describe('layers', () => {
  const models = createModelFolder();
  const taken = new Map<string, Promise<Layer>>();
  let renderer: Renderer;
  let tiled: Renderer;
  let seat: StudioFile;
  let solid: StudioFile;

  beforeAll(async () => {
    seat = models.write('seat', await makeLayeredSeat());
    solid = models.write('solid', await makeLayeredSeat({ solid: true }));
    renderer = await openRenderer();
    tiled = await openOwnRenderer({ tilePx: 71 });
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    await tiled?.close();
    models.remove();
  });

  const dress = (combination: Combination): AssignedMaterial[] =>
    combination.map((finish, mesh) => ({ mesh, primitive: 0, material: seatMaterial(mesh, finish) }));
  const shot = (combination: Combination, view: ProductShot['view']): Omit<ProductShot, 'ground'> => ({
    file: seat,
    assignments: dress(combination),
    view,
    mount: 'floor',
    ...SIZE,
    quality: 'draft',
  });

  /** Takes a layer once, with the finishes that the other parts have at that time. */
  function takeOnce(key: string, combination: Combination, view: ProductShot['view'], shows: LayerContent) {
    const known = taken.get(`${view} ${key}`);
    if (known) return known;
    const layer = takeLayer(renderer, { ...shot(combination, view), shows }).then(cropLayer);
    taken.set(`${view} ${key}`, layer);
    return layer;
  }

  async function takeLayers(combination: Combination, view: ProductShot['view']): Promise<Layer[]> {
    return Promise.all([
      takeOnce('ground', combination, view, 'ground'),
      ...combination.map((finish, mesh) => takeOnce(`${mesh} ${finish}`, combination, view, [{ mesh, primitive: 0 }])),
    ]);
  }

  it.each(['three-quarter', 'back', 'top'] as const)(
    'sum to the picture in any combination, within a level: masked, blended, double-sided and coplanar parts, %s',
    async (view) => {
      const random = createRandom(3);
      let most = 0;
      for (let run = 0; run < 8; run++) {
        const combination = SEAT_PARTS.map(() => random.whole(SEAT_FINISHES + 1) - 1);
        const layers = await takeLayers(combination, view);
        for (const ground of ['transparent', 'white'] as const) {
          const direct = await renderer.takeProduct({ ...shot(combination, view), ground });
          const { rgba } = composeLayers(SIZE, layers, ground === 'white' ? [255, 255, 255] : null);
          most = Math.max(most, comparePictures(rgba, direct.rgba).most);
        }
      }
      expect(most).toBeLessThanOrEqual(1);
    },
  );

  it.each(['three-quarter', 'side', 'top'] as const)(
    'are taken together, in tiles too, and sum with layers taken one by one, %s',
    async (view) => {
      const random = createRandom(5);
      const base = SEAT_PARTS.map(() => 0);
      const parts = SEAT_PARTS.map((_, mesh) => [{ mesh, primitive: 0 }]);
      let most = 0;
      let covered = 0;
      for (const [studio, file] of [
        [renderer, solid],
        [tiled, solid],
        [renderer, seat],
        [tiled, seat],
      ] as const) {
        const once = await studio.takeLayers({ ...shot(base, view), file, layers: ['ground', ...parts] });
        const [ground, ...first] = once.map(cropLayer);
        covered += first.reduce((sum, { whole }) => sum + whole.filter((pixel) => pixel !== 0).length, 0);
        for (let run = 0; run < 3; run++) {
          const combination = SEAT_PARTS.map(() => random.whole(2));
          const others = combination.flatMap((finish, mesh) => (finish === 0 ? [] : [mesh]));
          const taken = await studio.takeLayers({
            ...shot(combination, view),
            file,
            layers: others.map((mesh) => parts[mesh]!),
          });
          const layers = first.map((layer, mesh) =>
            combination[mesh] === 0 ? layer : cropLayer(taken[others.indexOf(mesh)]!),
          );
          const direct = await studio.takeProduct({
            ...shot(combination, view),
            file,
            ground: 'transparent',
          });
          const { rgba } = composeLayers(SIZE, [ground!, ...layers], null);
          most = Math.max(most, comparePictures(rgba, direct.rgba).most);
        }
      }
      expect(most).toBeLessThanOrEqual(1);
      expect(covered).toBeGreaterThan(2000);
    },
  );

  it('are read no larger than the visible area of their part', async () => {
    const { mesh, primitive } = { mesh: SEAT_PARTS.indexOf('stripe'), primitive: 0 };
    for (const file of [seat, solid]) {
      const raw = await takeLayer(renderer, {
        ...shot(
          SEAT_PARTS.map(() => 0),
          'three-quarter',
        ),
        file,
        shows: [{ mesh, primitive }],
      });
      const layer = cropLayer(raw);
      expect(layer.widthPx * layer.heightPx).toBeGreaterThan(0);
      expect(raw.box.widthPx - layer.widthPx).toBeLessThan(40);
      expect(raw.box.widthPx * raw.box.heightPx).toBeLessThan((SIZE.widthPx * SIZE.heightPx) / 2);
    }
  });
});
