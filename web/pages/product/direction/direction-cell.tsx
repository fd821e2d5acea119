import type { SlotAnswer } from '../../../../server/http/contracts/slot.ts';
import { foldDegrees } from './place-mark.ts';

interface DirectionCellProps {
  readonly slot: SlotAnswer;
  readonly open: boolean;
  readonly onOpen: () => void;
  readonly onUse: (grainDegrees: number) => void;
}

/** The direction of a slot: in degrees where a person set it, else what follows from the part. What is only proposed stands under it. */
export function DirectionCell({ slot, open, onOpen, onUse }: DirectionCellProps) {
  const proposed = slot.proposedGrain?.grainDegrees ?? null;
  const followed = sayDirections(slot);
  const taken = proposed !== null && foldDegrees(slot.grainDegrees) === foldDegrees(proposed);
  return (
    <>
      <button type="button" aria-expanded={open} aria-label={`Direction of ${slot.label}`} onClick={onOpen}>
        {followed === null ? `${slot.grainDegrees}°` : 'Follows the part'}
      </button>
      {!slot.fixed && followed !== null && <small class="soft"> {followed}</small>}
      {!slot.fixed && followed === null && proposed !== null && (
        <small class="soft">
          {' '}
          {taken ? (
            'as proposed'
          ) : (
            <button
              type="button"
              title={slot.proposedGrain!.reason}
              aria-label={`Use the proposed ${proposed}° for ${slot.label}`}
              onClick={() => onUse(proposed)}
            >
              use {proposed}°{slot.proposedGrain!.confidence === 'weak' && ', not sure'}
            </button>
          )}
        </small>
      )}
    </>
  );
}

/** Which directions follow from the part, in words; null where a person set one, or the part bears none out. */
export function sayDirections({ directions }: Pick<SlotAnswer, 'directions'>): string | null {
  const { wood, textile } = directions ?? {};
  const told = [
    ...(wood === undefined ? [] : [`grain along its length, ${wood}°`]),
    ...(textile === undefined ? [] : [`warp hanging, ${textile}°`]),
  ];
  return told.length === 0 ? null : told.join('; ');
}

/** The direction to draw: that of wood, or else of cloth, where they follow the part. */
export function shownDirection({ directions, grainDegrees }: Pick<SlotAnswer, 'directions' | 'grainDegrees'>): number {
  return directions?.wood ?? directions?.textile ?? grainDegrees;
}
