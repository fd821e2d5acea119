import { useSignal } from '@preact/signals';
import { AXES, type Axis } from '../../../../server/core/repair/repair.ts';
import { Select } from '../../../parts/select.tsx';
import type { ProductModel } from '../product-model.ts';
import { addTurn } from './repair-chain.ts';

/** Quarter turns, as seen from above, and tips, as seen from before the front. */
const QUARTERS: readonly (readonly [words: string, axis: Axis, degrees: number])[] = [
  ['Turn 90° clockwise, seen from above', 'y', -90],
  ['Turn 90° counter-clockwise', 'y', 90],
  ['Tip forward', 'x', 90],
  ['Tip back', 'x', -90],
];

const AXIS_WORDS: Readonly<Record<Axis, string>> = {
  x: 'the axis from left to right (X)',
  y: 'the vertical axis (Y)',
  z: 'the axis from back to front (Z)',
};

/** Turns the product so that its front is the front: each press adds to the repairs that are to be made. */
export function TurnControls({ model }: { readonly model: ProductModel }) {
  const { repairs } = model;
  const axis = useSignal<Axis>('y');
  const degrees = useSignal('');
  const busy = repairs.work.value !== null;
  const angle = Number(degrees.value);
  const isAngle = degrees.value !== '' && Number.isFinite(angle) && Math.abs(angle) <= 360;
  const turn = (about: Axis, by: number) => repairs.edit((steps) => addTurn(steps, about, by));
  return (
    <div class="repairs no-print">
      <h3>Orientation</h3>
      <p class="small soft measure">
        Turn the product where the front view does not show its front. A turn joins the repairs above.
      </p>
      <div class="actions">
        {QUARTERS.map(([words, about, by]) => (
          <button key={words} type="button" disabled={busy} onClick={() => turn(about, by)}>
            {words}
          </button>
        ))}
      </div>
      <form
        class="actions turn"
        onSubmit={(event) => {
          event.preventDefault();
          if (isAngle) turn(axis.value, angle);
        }}
      >
        <label>
          Degrees
          <input
            type="number"
            min={-360}
            max={360}
            step="any"
            value={degrees.value}
            disabled={busy}
            onInput={(event) => {
              degrees.value = event.currentTarget.value;
            }}
          />
        </label>
        <Select
          label="Axis to turn about"
          value={axis.value}
          disabled={busy}
          options={AXES.map((one) => [one, `about ${AXIS_WORDS[one]}`] as const)}
          onPick={(picked) => {
            axis.value = picked;
          }}
        />
        <button type="submit" disabled={busy || !isAngle}>
          Turn
        </button>
      </form>
    </div>
  );
}
