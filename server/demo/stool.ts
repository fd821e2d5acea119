import { type Corner, curveCorners, type ProfilePoint, roundProfile, turnProfile } from './geometry/lathe.ts';
import { alongAxis, type Mesh, mergeMeshes, moveMesh, placeMesh, type Vector } from './geometry/mesh.ts';
import { makeCushion } from './geometry/sewn-parts.ts';
import { makeStitches, makeTube, ringPath } from './geometry/tube.ts';
import { encodeStrips, makeTurnedOcclusion, onStrip, sampleProfile } from './geometry/turned-occlusion.ts';
import { encodeLinearMap, encodeNormalMap, makeField, smoothstep } from './textures/field.ts';
import { type PartMaps, writeModel } from './write-model.ts';

/** Columns of the piping's map: one turn of the piping, then thread for the stitches. */
const PIPING_TURN = 0.75;
/** Length of one repeat along the piping: three stitches. */
const PIPING_REPEAT_M = 0.0225;
/**
 * The piping's frame starts at the top and turns outwards. Its seam is at three quarters, towards the seat's centre.
 */
const SEAM_AT = 0.75;

const CUSHION = {
  seamRadiusMm: 175,
  swellMm: 9,
  lowerSeamMm: 366,
  upperSeamMm: 427,
  crownMm: 450,
  tuftMm: 12,
} as const;
/** The piping is a little larger than the seams it covers. mm */
const PIPING = { radiusMm: 3.5, ringMm: 177.6 } as const;

/** The turned wooden ring under the cushion that holds the legs. mm */
const APRON: readonly Corner[] = [
  [0, 336],
  [140, 336, 2],
  [151, 341, 8],
  [151, 358, 3],
  [148, 358, 0.6],
  [148, 360, 0.6],
  [156, 360, 2.4],
  [156, 367, 2.4],
  [0, 367],
];

/** Legs: axes from the foot to a point inside the apron, on the diagonals. mm from the centre, and heights. */
const LEG = { footMm: 172, topMm: 112, topHeightMm: 350, footHeightMm: 4 } as const;

/** A leg turned from one piece: thin at the foot, thickest in the upper third, two fine grooves below the apron. mm */
const LEG_PROFILE: readonly Corner[] = [
  ...curveCorners(
    [
      [8.4, 2],
      [9.4, 60],
      [11.9, 165],
      [13.9, 250],
      [13.9, 298],
    ],
    7,
  ),
  [13.8, 303, 0.5],
  [12.8, 304, 0.4],
  [13.7, 305, 0.5],
  [13.6, 309, 0.5],
  [12.6, 310, 0.4],
  [13.5, 311, 0.5],
  [13, 350],
];

/** The metal shoe on each foot. mm along the leg */
const SHOE: readonly Corner[] = [
  [0, 0],
  [8.8, 0, 2],
  [10.4, 36, 0.4],
  [10.4, 38.2, 0.9],
  [8.4, 38.8, 0.5],
  [7, 38.8],
];

/** Small collars where the stretcher ring meets a leg. mm along the ring */
const COLLAR: readonly Corner[] = [
  [4, -3.2],
  [6.8, -3.2, 1],
  [7.6, 0, 2],
  [6.8, 3.2, 1],
  [4, 3.2],
];
const RING = { heightMm: 150, tubeMm: 4.6 } as const;

const GLIDE: readonly Corner[] = [
  [0, 0],
  [8.2, 0, 2],
  [8.8, 6, 0.5],
  [0, 6],
];

const BUTTON: readonly Corner[] = [
  [12.5, -4],
  [15, 0, 3],
  [13.4, 4.4, 5],
  [8, 6.6, 12],
  [0, 7.2],
];

/** Stitches in each row: 7.5 mm from one to the next at the seam. */
const STITCHES = 150;

/** The stool, 450 mm high with its crown unloaded. */
export async function makeStool(): Promise<Uint8Array> {
  const cushion = makeCushion(CUSHION);
  const apron = roundProfile(APRON);
  const piping = [CUSHION.lowerSeamMm, CUSHION.upperSeamMm + 1].map(pipingOutline);
  const opennessOf = makeTurnedOcclusion([cushion.profile, apron, ...piping]);
  const leg = roundProfile(LEG_PROFILE);
  const [seatOcclusion, legOcclusion, pipingMaps] = await Promise.all([
    encodeStrips([opennessOf(sampleProfile(cushion.profile))]),
    encodeStrips([opennessOf(sampleProfile(legAxisProfile(leg))), opennessOf(sampleProfile(apron))]),
    makePipingMaps(),
  ]);
  const turnedLeg = turnProfile(leg, { around: 40, unroll: 1 });
  const legs = [0, 1, 2, 3].map((k) => placeMesh(otherStick(turnedLeg, k), legPlacement(k)));
  const turnedApron = turnProfile(apron, { around: 160, grain: 'around' });
  return writeModel(
    'Stool',
    [
      { name: 'Seat cushion', material: 'Seat', mesh: cushion.mesh },
      { name: 'Piping and stitching', material: 'Piping', mesh: makeTrim(cushion.heightAt) },
      { name: 'Legs', material: 'Legs', mesh: mergeMeshes(legs.map((mesh) => onStrip(mesh, 0, 2))) },
      { name: 'Apron', material: 'Legs', mesh: onStrip(turnedApron, 1, 2) },
      { name: 'Stretcher ring', material: 'Ring', mesh: mergeMeshes(makeRing()) },
      { name: 'Glides', material: 'Glides', mesh: mergeMeshes(makeGlides()) },
    ],
    [
      { name: 'Seat', roughness: 0.9, occlusion: seatOcclusion },
      { name: 'Piping', roughness: 0.8, normal: pipingMaps.normal, occlusion: pipingMaps.occlusion },
      { name: 'Legs', roughness: 0.55, occlusion: legOcclusion },
      { name: 'Ring', roughness: 0.35 },
      { name: 'Glides', colour: [0.02, 0.02, 0.02], roughness: 0.6 },
    ],
  );
}

/** Piping on both seams, three rows of stitches, and the covered button. */
function makeTrim(heightAt: (radiusM: number) => number): Mesh {
  const ring = (yMm: number): Mesh =>
    makeTube(ringPath(PIPING.ringMm / 1000, yMm / 1000, 240), {
      radiusM: PIPING.radiusMm / 1000,
      around: 14,
      closed: true,
      uv1: (turn, length) => [
        // a whole number of repeats along it, so the map is seamless
        // the frame starts at the top; the seam is inside, at both ends of the map
        PIPING_TURN * turn,
        (-length / (2 * Math.PI * (PIPING.ringMm / 1000))) * Math.round(STITCHES / 3),
      ],
    });
  const thread = (turn: number, length: number): readonly [number, number] => [
    PIPING_TURN + (1 - PIPING_TURN) * (0.1 + 0.8 * turn),
    -length / PIPING_REPEAT_M,
  ];
  const row = (radiusM: number, yM: number, out: readonly [number, number]): Mesh =>
    makeStitches({ radiusM, yM, out, count: STITCHES, threadM: 0.00075, share: 0.66, uv1: thread });
  const topRow = 0.1675;
  const bandRow = (CUSHION.seamRadiusMm + 4.6) / 1000;
  const button = turnProfile(roundProfile(BUTTON), { around: 48 });
  return mergeMeshes([
    ring(CUSHION.lowerSeamMm),
    ring(CUSHION.upperSeamMm + 1),
    row(topRow, heightAt(topRow), [0.45, 0.89]),
    row(bandRow, (CUSHION.upperSeamMm - 9) / 1000, [0.97, 0.2]),
    onMap(moveMesh(button, [0, heightAt(0) + 0.0005, 0])),
  ]);
}

/** The position on its turn where the piping faces outwards, away from both seams. */
const OPEN_TURN = PIPING_TURN * 0.25;

/** The button uses a smooth, unshaded place of the piping's map: the side away from the seam. */
function onMap(mesh: Mesh): Mesh {
  return { ...mesh, uv1: mesh.uv1.map((_, i) => (i % 2 === 0 ? OPEN_TURN : 0)) };
}

function legAxis(k: number): { foot: Vector; axis: Vector } {
  const angle = Math.PI / 4 + (k * Math.PI) / 2;
  const at = (radiusMm: number, yMm: number): Vector => [
    (radiusMm * Math.sin(angle)) / 1000,
    yMm / 1000,
    (radiusMm * Math.cos(angle)) / 1000,
  ];
  const foot = at(LEG.footMm, LEG.footHeightMm);
  const top = at(LEG.topMm, LEG.topHeightMm);
  return { foot, axis: [top[0] - foot[0], top[1] - foot[1], top[2] - foot[2]] };
}

function legPlacement(k: number) {
  const { foot, axis } = legAxis(k);
  return alongAxis(foot, axis);
}

/** Each leg is a piece of its own: its grain starts at another place on the board. */
function otherStick(mesh: Mesh, k: number): Mesh {
  return { ...mesh, uv0: mesh.uv0.map((value, i) => value + (i % 2 === 0 ? 0.037 * k : 0.113 * k)) };
}

function makeRing(): Mesh[] {
  const up = (RING.heightMm - LEG.footHeightMm) / (LEG.topHeightMm - LEG.footHeightMm);
  const radius = (LEG.footMm + (LEG.topMm - LEG.footMm) * up) / 1000;
  const parts: Mesh[] = [
    makeTube(ringPath(radius, RING.heightMm / 1000, 192), { radiusM: RING.tubeMm / 1000, around: 16, closed: true }),
  ];
  const shoe = turnProfile(roundProfile(SHOE), { around: 40 });
  const collar = turnProfile(roundProfile(COLLAR), { around: 24 });
  for (let k = 0; k < 4; k++) {
    parts.push(placeMesh(shoe, legPlacement(k)));
    for (const side of [-1, 1]) {
      const angle = Math.PI / 4 + (k * Math.PI) / 2 + (side * 0.0138) / radius;
      const origin: Vector = [radius * Math.sin(angle), RING.heightMm / 1000, radius * Math.cos(angle)];
      parts.push(placeMesh(collar, alongAxis(origin, [Math.cos(angle), 0, -Math.sin(angle)])));
    }
  }
  return parts;
}

function makeGlides(): Mesh[] {
  const glide = turnProfile(roundProfile(GLIDE), { around: 28 });
  return [0, 1, 2, 3].map((k) => {
    const { foot } = legAxis(k);
    return moveMesh(glide, [foot[0], 0, foot[2]]);
  });
}

/** The outer flank of a leg under the seat, in the half-plane of radius and height. */
function legAxisProfile(leg: readonly ProfilePoint[]): ProfilePoint[] {
  const length = leg[leg.length - 1]!.y;
  return leg.map((point) => ({
    ...point,
    r: (LEG.footMm + ((LEG.topMm - LEG.footMm) * point.y) / length) / 1000 + point.r,
    y: point.y,
  }));
}

function pipingOutline(yMm: number): { r: number; y: number }[] {
  return Array.from({ length: 16 }, (_, k) => {
    const angle = (k * Math.PI) / 8;
    return {
      r: (PIPING.ringMm + PIPING.radiusMm * Math.cos(angle)) / 1000,
      y: (yMm + PIPING.radiusMm * Math.sin(angle)) / 1000,
    };
  });
}

/** Gentle puckers where each stitch pulls the piping in, and the twist of the thread beside it. */
async function makePipingMaps(): Promise<PartMaps> {
  const width = 128;
  const height = 256;
  const turned = width * PIPING_TURN;
  const nearSeam = (x: number): number => {
    const away = Math.abs(x / turned - SEAM_AT);
    return 1 - 2 * Math.min(away, 1 - away);
  };
  const relief = makeField(width, height, (x, y) => {
    const along = (y / height) * 3 * 2 * Math.PI;
    if (x >= turned) return 0.1 * Math.abs(Math.sin(((y / height) * 12 + (x - turned) / 8) * Math.PI));
    return 0.3 * nearSeam(x) ** 3 * Math.cos(along + 0.8 * Math.sin(along));
  });
  // 22 mm is the circumference of a piping of 7 mm.
  const step = { x: 22 / turned, y: (PIPING_REPEAT_M * 1000) / height };
  const occlusion = makeField(width, height, (x) => (x >= turned ? 1 : 1 - 0.7 * smoothstep(0.5, 0.95, nearSeam(x))));
  return { normal: await encodeNormalMap(relief, step), occlusion: await encodeLinearMap(occlusion) };
}
