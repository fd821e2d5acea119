import { makeBraidMaps, makeCord, makeInlineSwitch, makePlug } from './cord-and-switch.ts';
import { type Corner, curveCorners, makeKnurl, roundProfile, turnProfile } from './geometry/lathe.ts';
import { type Mesh, mergeMeshes, type Vector } from './geometry/mesh.ts';
import { makePleatedShade, makeShadeLiner, type PleatedShadeShape } from './geometry/sewn-parts.ts';
import { curvePath, makeTube, ringPath } from './geometry/tube.ts';
import { encodeStrips, makeTurnedOcclusion, onStrip, sampleProfile } from './geometry/turned-occlusion.ts';
import { writeModel } from './write-model.ts';

/** A plinth with a shadow joint above and below it. mm */
const PLINTH: readonly Corner[] = [
  [0, 0],
  [66, 0, 0.8],
  [66, 2.4, 0.5],
  [75, 2.4, 2.6],
  [75, 17, 5.5],
  [26, 17, 0.5],
  [24, 18.6, 0.5],
];

/** The turned body: wide at the bottom, narrowing to a neck with a fine bead. mm */
const BODY: readonly Corner[] = [
  ...curveCorners(
    [
      [24, 18.4],
      [38, 20.6],
      [48.6, 30],
      [53, 45],
      [51, 61],
      [43, 76.5],
      [31, 90],
      [21.6, 100],
      [17.8, 107],
    ],
    6,
  ),
  [17.2, 109, 0.5],
  [19.4, 109.4, 0.9],
  [19.8, 112, 1.2],
  [17.4, 113.6, 0.8],
  [10, 113.6],
];

/** A flange, the rims of a knurled collar, a thin tube and the cup that holds the socket. mm */
const STEM: readonly Corner[] = [
  [0, 113],
  [16.4, 113, 0.4],
  [16.4, 116.4, 1.2],
  [12.6, 116.4, 0.8],
  [12.6, 119.6, 0.7],
  [10.2, 119.6],
  [10.2, 137.4],
  [12.6, 137.4, 0.7],
  [12.6, 139.6, 0.7],
  [8.6, 140.8, 2],
  [5.6, 146, 5],
  [5.6, 284, 4],
  [9.5, 290, 3],
  [21.5, 294, 2],
  [22.5, 303, 1],
  [0, 303],
];

const SOCKET: readonly Corner[] = [
  [0, 302],
  [20, 302, 1],
  [20, 330, 1],
  [18.4, 332, 1],
  [18.4, 354, 1.6],
  [13, 354, 1],
  [0, 354],
];

const BULB: readonly Corner[] = [
  [0, 350],
  [11.5, 350],
  [11.8, 354],
  [14, 361],
  [23, 369],
  [30.4, 381],
  [32, 394],
  [29, 408],
  [20, 420],
  [9, 425.3],
  [0, 426.4],
];

const FINIAL: readonly Corner[] = [
  [0, 438],
  [15, 438, 1],
  [15, 441, 1],
  [6, 441.6, 1.6],
  [4.2, 444, 1],
  [5, 446, 1],
  ...curveCorners(
    [
      [5, 446],
      [8.2, 450.6],
      [7.6, 456],
      [4, 459.3],
      [0, 460],
    ],
    5,
  ).slice(1),
];

const SHADE: PleatedShadeShape = { lowerRadiusMm: 138, upperRadiusMm: 94, fromMm: 232, toMm: 446, pleats: 84 };

/** The table lamp, 460 mm high; +Z front, the cord leaves at the back and rests on the table. */
export async function makeLamp(): Promise<Uint8Array> {
  const plinth = roundProfile(PLINTH);
  const body = roundProfile(BODY);
  const stem = roundProfile(STEM);
  const liner = roundProfile(shadeSection(SHADE, 4.6));
  const opennessOf = makeTurnedOcclusion([plinth, axial(body), stem, roundProfile(SOCKET), shadeOutline(SHADE)]);
  const [baseOcclusion, stemOcclusion, linerOcclusion, braid] = await Promise.all([
    encodeStrips([opennessOf(sampleProfile(plinth)), opennessOf(sampleProfile(body))]),
    encodeStrips([opennessOf(sampleProfile(stem))]),
    encodeStrips([opennessOf(sampleProfile(liner))]),
    makeBraidMaps(),
  ]);
  const cord = makeCord();
  return writeModel(
    'Table lamp',
    [
      { name: 'Pleated shade', material: 'Shade', mesh: makePleatedShade(SHADE) },
      { name: 'Shade liner', material: 'Liner', mesh: makeShadeLiner(SHADE) },
      { name: 'Plinth', material: 'Base', mesh: onStrip(turnProfile(plinth, { around: 128 }), 0, 2) },
      { name: 'Turned body', material: 'Base', mesh: onStrip(turnProfile(body, BODY_TURN), 1, 2) },
      { name: 'Stem and collar', material: 'Stem', mesh: mergeMeshes([...makeStem(), ...makeFitter(SHADE)]) },
      { name: 'Braided cord', material: 'Cord', mesh: cord.mesh },
      { name: 'Socket', material: 'Socket', mesh: turnProfile(roundProfile(SOCKET), { around: 48 }) },
      { name: 'Bulb', material: 'Bulb', mesh: turnProfile(roundProfile(curveCorners(BULB, 3)), { around: 48 }) },
      {
        name: 'Inline switch',
        material: 'Switch',
        mesh: mergeMeshes([makeInlineSwitch(cord.switchAt), makePlug(cord.plugAt)]),
      },
    ],
    [
      { name: 'Shade', roughness: 0.9 },
      { name: 'Liner', colour: [0.84, 0.81, 0.74], roughness: 0.85, occlusion: linerOcclusion },
      { name: 'Base', occlusion: baseOcclusion },
      { name: 'Stem', roughness: 0.4, occlusion: stemOcclusion },
      { name: 'Cord', roughness: 0.85, normal: braid.normal, occlusion: braid.occlusion },
      { name: 'Socket', colour: [0.02, 0.02, 0.021], roughness: 0.45 },
      { name: 'Bulb', colour: [0.92, 0.91, 0.87], roughness: 0.35 },
      { name: 'Switch', colour: [0.018, 0.018, 0.019], roughness: 0.38 },
    ],
  );
}

function makeStem(): Mesh[] {
  return [
    turnProfile(roundProfile(STEM), { around: 56 }),
    open(makeKnurl({ radiusM: 0.0123, fromM: 0.1196, toM: 0.1374, teeth: 34, depthM: 0.0009 })),
  ];
}

/**
 * The body bulges between foot and neck. It is unrolled as one piece, since a joint in the pattern would cross the
 * shoulder. With 0.5 the grain leans a little towards the neck and is a little finer there, as on a turned piece.
 */
const BODY_TURN = { around: 120, unroll: 0.5, lids: false } as const;

/** A wire harp around the bulb, a three-armed spider with its ring at the shade's upper rim, and the finial. */
function makeFitter(shade: PleatedShadeShape): Mesh[] {
  const half: Vector[] = [
    [0.019, 0.298, 0],
    [0.03, 0.312, 0],
    [0.044, 0.345, 0],
    [0.047, 0.385, 0],
    [0.036, 0.42, 0],
    [0.016, 0.436, 0],
    [0, 0.4395, 0],
  ];
  const harp = [
    ...half,
    ...half
      .slice(0, -1)
      .reverse()
      .map(([x, y, z]): Vector => [-x, y, z]),
  ];
  const ring = (shade.upperRadiusMm - 4.4) / 1000;
  const arms = [0, 1, 2].map((k): Mesh => {
    const angle = (k * 2 * Math.PI) / 3 + Math.PI / 6;
    const at = (r: number, y: number): Vector => [r * Math.sin(angle), y, r * Math.cos(angle)];
    return makeTube(curvePath([at(0.01, 0.4396), at(0.03, 0.4396), at(ring * 0.7, 0.4385), at(ring, 0.438)], 0.006), {
      radiusM: 0.0016,
      around: 10,
    });
  });
  return [
    open(makeTube(curvePath(harp, 0.006), { radiusM: 0.0015, around: 10 })),
    open(makeTube(ringPath(ring, 0.438, 96), { radiusM: 0.0017, around: 10, closed: true })),
    ...arms.map(open),
    open(turnProfile(roundProfile(FINIAL), { around: 48 })),
  ];
}

/** Free-standing parts with the stem's material: their `uv1` is on an unshaded place of the strip. */
function open(mesh: Mesh): Mesh {
  return onStrip(mesh, 0, 1, OPEN_AT);
}

/** Position along the stem's profile: the middle of the bare tube. */
const OPEN_AT = 0.45;

/** An open profile, closed along the axis so that it can be filled. */
function axial(profile: readonly { r: number; y: number }[]): { r: number; y: number }[] {
  return [{ r: 0, y: profile[0]!.y }, ...profile, { r: 0, y: profile[profile.length - 1]!.y }];
}

/** The inner face of the shade, from the upper rim down, so that its outward side faces the axis. */
function shadeSection(shade: PleatedShadeShape, insetMm: number): Corner[] {
  return [
    [shade.upperRadiusMm - insetMm, shade.toMm],
    [shade.lowerRadiusMm - insetMm, shade.fromMm],
  ];
}

function shadeOutline(shade: PleatedShadeShape): { r: number; y: number }[] {
  const inner = shadeSection(shade, 4.6);
  const outer = shadeSection(shade, -2).reverse();
  return [...inner, ...outer].map(([r, y]) => ({ r: r / 1000, y: y / 1000 }));
}
