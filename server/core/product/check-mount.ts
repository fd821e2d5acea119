import type { Mount } from '../picture/picture.ts';
import { PLACES } from '../texts/place-titles.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { Survey } from './survey.ts';

/** How far a part may be from its floor or wall: 2 mm, or half a per cent of the largest side. Judgement. */
const MOUNT_TOLERANCE = { metres: 0.002, share: 0.005 } as const;

/** Off centre by more than this share of the side is remarked on: many products stand on their stem, not their middle. */
const CENTRE_TOLERANCE = 0.05;
/** Beyond half a side the origin is outside the product, and a viewer turns or sets it down somewhere else. */
const ORIGIN_OUTSIDE = 0.5;

type Box = NonNullable<Survey['box']>;

/** What touches what: which axis and which end of the box is to be at 0. */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max' }>> = {
  floor: { axis: 1, end: 'min' },
  table: { axis: 1, end: 'min' },
  ceiling: { axis: 1, end: 'max' },
  wall: { axis: 2, end: 'min' },
};

/**
 * Where the model stands by its mount: the floor, table top, ceiling or wall is at 0 and the origin in the middle of the
 * part that touches it, as the Khronos asset creation guidelines place pivots.
 * @param hasUnitSlip whether its size is in doubt: then only shares of the size tell anything, and millimetres do not
 */
export function checkMount(mount: Mount, { box }: Survey, hasUnitSlip: boolean): Finding[] {
  if (!box) return [];
  const sides = [0, 1, 2].map((axis) => box.max[axis]! - box.min[axis]!);
  const largest = Math.max(...sides);
  if (!Number.isFinite(largest) || largest <= 0) return [];
  const tolerance = Math.max(hasUnitSlip ? 0 : MOUNT_TOLERANCE.metres, largest * MOUNT_TOLERANCE.share);
  const { axis, end } = CONTACT[mount];
  const off = box[end][axis]!;
  const contact = Math.abs(off) > tolerance;
  const centre = findOffCentre(box, mount);
  if (!contact && centre.share <= CENTRE_TOLERANCE) return [];
  const outside = centre.share > ORIGIN_OUTSIDE;
  return [
    makeFinding(
      'off-mount',
      { mount, contactM: contact ? off : null, centre: centre.share > CENTRE_TOLERANCE ? centre : null },
      {
        where: '/scene',
        place: PLACES.mount(mount),
        seen: { [end === 'min' ? 'lowM' : 'highM']: off, offCentre: centre.share },
        expected: { at: 0, tolerance, offCentre: CENTRE_TOLERANCE },
        // one that is a little off its middle by intent is let be when only its height is wrong
        repairs: [{ repair: 'place', mount, ...(centre.share > CENTRE_TOLERANCE ? {} : { centred: false }) }],
      },
      contact || outside ? 'warning' : 'note',
    ),
  ];
}

/** The worse of the directions along which a product of this mount is centred; one on a wall only sideways. */
function findOffCentre(box: Box, mount: Mount): { share: number; metres: number; axis: string } {
  let worst = { share: 0, metres: 0, axis: 'x' };
  for (const axis of mount === 'wall' ? [0] : [0, 2]) {
    const side = box.max[axis]! - box.min[axis]!;
    const middle = (box.max[axis]! + box.min[axis]!) / 2;
    const share = side > 0 ? Math.abs(middle) / side : 0;
    if (share > worst.share) worst = { share, metres: middle, axis: 'xyz'[axis]! };
  }
  return worst;
}
