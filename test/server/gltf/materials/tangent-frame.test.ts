import { describe, expect, it } from 'vitest';
import { UVS_IN_METRES } from '../../../../server/core/delivery/repeat-transform.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import type { UvFrame } from '../../../../server/core/product/survey.ts';
import { findMapTurn } from '../../../../server/gltf/materials/tangent-frame.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const finish = resolveFinish(
  makeFinish('X', { maps: { normal: 'bumps' }, tile: { widthMm: 100, heightMm: 100 } }),
  null,
);

/** How normals are turned for a part with tangents: where what leans right in the map leans on the part, U to the right. */
const leanOf = (lay: Partial<UvFrame>, grainDegrees: number): readonly number[] => {
  const turn = findMapTurn({
    name: 'part/X',
    finish,
    lay: { ...UVS_IN_METRES, ...lay },
    grainDegrees,
    omittedMaps: new Set(),
    detail: null,
    unusableMaps: [],
    hasTangents: true,
    metresPerMeshUnit: 1,
  });
  return turn ? [turn.xx, turn.yx, turn.xy, turn.yy] : [1, 0, 0, 1];
};

const [COS, SIN] = [Math.cos(Math.PI / 6), Math.sin(Math.PI / 6)];

// Tangents follow U on the surface (glTF 2.0 §3.7.2.1). Where U and V are of different size an angle on the surface is none
// in UVs: a map that is seen turned by 30° has its normals turned by 30°
describe('normals of a finish on a part with tangents', () => {
  it.each<[string, Partial<UvFrame>, number, readonly number[]]>([
    ['of even UVs', {}, 30, [COS, SIN, -SIN, COS]],
    ['of UVs drawn out', { metresPerU: 4, metresPerV: 0.5 }, 30, [COS, SIN, -SIN, COS]],
    ['of a map that is turned', { turnDegrees: 30, metresPerV: 0.1 }, 0, [COS, SIN, -SIN, COS]],
    ['of a map that is mirrored across', { metresPerU: -3 }, 0, [-1, 0, 0, 1]],
    ['of a map on its head', { metresPerV: -3 }, 0, [1, 0, 0, -1]],
    // first turned as the map is seen, then mirrored with it
    ['of a map that is mirrored across, and turned', { metresPerU: -3 }, 30, [-COS, SIN, SIN, COS]],
    ['that need not be turned', { metresPerU: 4, metresPerV: 0.5 }, 0, [1, 0, 0, 1]],
  ])('%s lean as the map is seen', (_, lay, degrees, wanted) => {
    leanOf(lay, degrees).forEach((value, i) => {
      expect(value).toBeCloseTo(wanted[i]!, 9);
    });
  });
});
