import { useSignal } from '@preact/signals';
import type { SlotAnswer } from '../../../../server/http/contracts/slot.ts';
import { EditText } from '../../../parts/edit-text.tsx';
import { Field } from '../../../parts/field.tsx';
import type { ProductModel } from '../product-model.ts';
import { addressStill } from '../still-address.ts';
import { sayDirections, shownDirection } from './direction-cell.tsx';
import { DirectionDrawing } from './direction-drawing.tsx';
import { foldDegrees } from './place-mark.ts';

interface DirectionSheetProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  /** Null follows the part again. */
  readonly onUse: (grainDegrees: number | null) => void;
  readonly onClose: () => void;
}

const TURNS = [0, 45, 90, 135] as const;

/** The direction of a slot: what it is, what is proposed and why, and how it lies on the part. */
export function DirectionSheet({ model, slot, onUse, onClose }: DirectionSheetProps) {
  const trouble = useSignal<string | null>(null);
  const { proposedGrain: proposal, grainMark: mark } = slot;
  const followed = sayDirections(slot);
  const grainDegrees = shownDirection(slot);
  const box = model.survey.value?.box ?? null;
  const { rows, defaultKey } = model.schedule.saved.value;
  const row = rows.find(({ key }) => key === defaultKey) ?? null;
  const proposed = proposal?.grainDegrees ?? null;
  const type = (text: string) => {
    const degrees = Number(text.replace(/°$/, '').trim());
    const isTurn = text !== '' && Number.isFinite(degrees) && Math.abs(degrees) <= 360;
    trouble.value = isTurn ? null : `“${text.slice(0, 20)}” is no turn: a number of degrees from −360 to 360.`;
    if (isTurn) onUse(degrees);
  };
  return (
    <div class="direction">
      <div>
        <p class="strong">Direction of {slot.label}</p>
        <p class="small soft measure">
          Degrees counter-clockwise from upright in the UVs, on top of the finish’s own. At 0° the height of a map,
          along which grain and warp are scanned, follows V of the part.
        </p>
        <div class="direction-turns">
          <Field name="Degrees" inline>
            <EditText
              label={`Degrees of ${slot.label}`}
              size={6}
              value={String(grainDegrees)}
              invalid={trouble.value !== null}
              onCommit={type}
            />
          </Field>
          {TURNS.map((degrees) => (
            <button
              type="button"
              key={degrees}
              aria-pressed={followed === null && foldDegrees(grainDegrees) === degrees}
              onClick={() => onUse(degrees)}
            >
              {degrees}°
            </button>
          ))}
        </div>
        {trouble.value && <p class="small">{trouble.value}</p>}
        {followed !== null && (
          <p class="measure">It follows the part: {followed}. A number of degrees takes its place for every finish.</p>
        )}
        {followed !== null ? null : proposal ? (
          <p class="measure">
            {proposed === null
              ? 'Nothing is proposed. '
              : `Proposed: ${proposed}°${proposal.confidence === 'weak' ? ', to be looked at' : ''}. `}
            {proposal.reason}
          </p>
        ) : (
          <p class="measure soft">
            {mark
              ? 'No finish it may take has a direction.'
              : 'The part has no UVs by which a direction could be laid.'}
          </p>
        )}
        <div class="actions">
          {slot.directions === null && (
            <button type="button" onClick={() => onUse(null)}>
              Follow the part
            </button>
          )}
          {followed === null && proposed !== null && foldDegrees(grainDegrees) !== foldDegrees(proposed) && (
            <button type="button" onClick={() => onUse(proposed)}>
              Use {proposed}°
            </button>
          )}
          <button type="button" onClick={onClose}>
            Close
          </button>
        </div>
      </div>
      {mark && box && (
        <DirectionDrawing
          address={addressStill(model, row, mark.view)}
          version={model.version.value}
          label={slot.label}
          box={box}
          mark={mark}
          grainDegrees={grainDegrees}
          proposedDegrees={followed === null ? proposed : null}
        />
      )}
    </div>
  );
}
