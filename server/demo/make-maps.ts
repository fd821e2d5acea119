import { encodeColourMap, encodeGreyMap, encodeLinearMap, encodeNormalMap, type Field } from './textures/field.ts';
import {
  makeBrushed,
  makeGlaze,
  makeHide,
  makePaper,
  makePowder,
  makeTerrazzo,
  makeWoodGrain,
  tintTone,
} from './textures/surfaces.ts';
import { makePile, setRows, throwRings, weave } from './textures/textiles.ts';

/** Side of most maps. Twice as much would cost four times as much, and show no more at the largest picture size. */
const SIZE = 512;

interface MapFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Draws every map that the articles in `finishes.ts` name. All repeat at their edges. */
export async function makeMaps(): Promise<MapFile[]> {
  const jobs: Promise<MapFile>[] = [];
  const add = (name: string, bytes: Promise<Uint8Array>): void => {
    jobs.push(bytes.then((done) => ({ name, bytes: done })));
  };
  const square = (tileMm: number, size = SIZE) => ({ x: tileMm / size, y: tileMm / size });

  const linen = weave({
    sizePx: 1024,
    tileMm: 80,
    ends: 80,
    picks: 80,
    warpOver: (i, j) => (i + j) % 2 === 0,
    warpTone: 1,
    weftTone: 0.97,
    slub: 1,
    loft: 0.6,
    seed: 11,
  });
  add('plain-weave-normal.png', encodeNormalMap(linen.relief, square(80, 1024)));
  add('plain-weave-colour.png', encodeGreyMap(linen.tone));

  const herringbone = weave({
    sizePx: SIZE,
    tileMm: 48,
    ends: 48,
    picks: 48,
    // Twelve ends per stripe; the twill's slant reverses from stripe to stripe.
    warpOver: (i, j) => ((Math.floor(i / 12) % 2 === 0 ? i + j : 47 - i + j + 2) & 3) < 2,
    warpTone: 1,
    weftTone: 0.76,
    slub: 0.45,
    loft: 0.6,
    seed: 23,
  });
  add('herringbone-normal.png', encodeNormalMap(herringbone.relief, square(48)));
  add('herringbone-colour.png', encodeGreyMap(herringbone.tone));

  // a loop's yarn must be a few texels thick
  const boucle = makePile({
    sizePx: 1024,
    tileMm: 80,
    yarnMm: 0.95,
    heightMm: [0.8, 2.2],
    loops: throwRings(80, 48, 31),
    seed: 33,
  });
  add('boucle-normal.png', encodeNormalMap(scaled(boucle.relief, 0.6), square(80, 1024)));
  add('boucle-colour.png', encodeGreyMap(boucle.tone));

  // loops of 4 mm, which lean to a varying degree
  const terry = makePile({
    sizePx: 1024,
    tileMm: 60,
    yarnMm: 0.8,
    heightMm: [2, 4],
    loops: setRows(60, 54, 56, 37),
    seed: 39,
  });
  add('terry-normal.png', encodeNormalMap(scaled(terry.relief, 0.45), square(60, 1024)));
  add('terry-colour.png', encodeGreyMap(terry.tone));

  const hide = makeHide(SIZE, 60, 41);
  add('hide-normal.png', encodeNormalMap(hide.relief, square(60)));
  add('hide-colour.png', encodeGreyMap(hide.tone));

  add('powder-normal.png', encodeNormalMap(makePowder(256, 53), square(40, 256)));

  const brushed = makeBrushed(SIZE, 61);
  add('brushed-normal.png', encodeNormalMap(brushed.relief, square(60)));
  add('brushed-roughness.png', encodeLinearMap(brushed.roughness));

  const oak = makeWoodGrain({
    widthPx: SIZE,
    heightPx: 1024,
    rings: 30,
    wander: 0.75,
    lateWood: 0.2,
    pores: 0.32,
    seed: 71,
  });
  add('oak-colour.png', encodeColourMap(...tintTone(oak.tone, [0.62, 0.42, 0.26])));
  add('oak-normal.png', encodeNormalMap(scaled(oak.poreDepth, -0.06), { x: 120 / SIZE, y: 240 / 1024 }));

  const walnut = makeWoodGrain({
    widthPx: SIZE,
    heightPx: 1024,
    rings: 13,
    wander: 1.2,
    lateWood: 0.34,
    pores: 0.16,
    seed: 83,
  });
  add('walnut-colour.png', encodeColourMap(...tintTone(walnut.tone, [0.55, 0.4, 0.3])));

  const glaze = makeGlaze(SIZE, 97);
  add('glaze-colour.png', encodeGreyMap(glaze.tone));
  add('glaze-normal.png', encodeNormalMap(glaze.relief, square(160)));

  add('terrazzo-colour.png', encodeGreyMap(makeTerrazzo(SIZE, 101)));

  const paper = makePaper(SIZE, 120, 113);
  add('paper-normal.png', encodeNormalMap(paper.relief, square(120)));
  add('paper-colour.png', encodeGreyMap(paper.tone));

  return Promise.all(jobs);
}

function scaled(field: Field, by: number): Field {
  return { ...field, values: field.values.map((value) => value * by) };
}
