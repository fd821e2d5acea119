import type { SlotAnswer } from '../../../../server/http/answers.ts';
import { foldDegrees } from './place-mark.ts';

interface DirectionCellProps {
  readonly slot: SlotAnswer;
  readonly open: boolean;
  readonly onOpen: () => void;
  readonly onUse: (grainDegrees: number) => void;
}

/** The direction of a slot in degrees; what is proposed stands under it, and is used by one press. */
export function DirectionCell({ slot, open, onOpen, onUse }: DirectionCellProps) {
  const proposed = slot.proposedGrain?.grainDegrees ?? null;
  const taken = proposed !== null && foldDegrees(slot.grainDegrees) === foldDegrees(proposed);
  return (
    <>
      <button type="button" aria-expanded={open} aria-label={`Direction of ${slot.label}`} onClick={onOpen}>
        {slot.grainDegrees}°
      </button>
      {proposed !== null && !slot.fixed && (
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
