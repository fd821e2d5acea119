import { useEffect, useRef } from 'preact/hooks';
import type { SlotAnswer } from '../../../server/http/contracts/slot.ts';
import { Chip } from '../../parts/chip.tsx';
import { groupAllowed } from './group-allowed.ts';
import type { ProductModel } from './product-model.ts';

interface FinishPickerProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly chosen: string | null;
  /** Why finishes do not go with the other choices of the row, by code. */
  readonly forbidden: ReadonlyMap<string, string>;
  /** Why none goes with them; null when one does. */
  readonly none: string | null;
  readonly of: string;
  readonly onPick: (finish: string | null) => void;
  readonly onClose: () => void;
}

/**
 * The finishes a slot may take, as one group of radio buttons: arrow keys go through them, and the product follows. One
 * that a rule keeps from the other choices can be picked all the same, since those may be what is changed next; the reason
 * stands beside it, and the row is not delivered like that.
 */
export function FinishPicker({ model, slot, chosen, forbidden, none, of, onPick, onClose }: FinishPickerProps) {
  const place = useRef<HTMLFieldSetElement>(null);
  useEffect(() => {
    const fields = [...(place.current?.querySelectorAll('input') ?? [])];
    (fields.find((field) => field.checked) ?? fields[0])?.focus({ preventScroll: true });
  }, [slot.slot]);
  const groups = groupAllowed(slot.allowed, model.getFinish);
  const outside = chosen !== null && !slot.allowed.some(({ finish }) => finish === chosen);
  return (
    <fieldset class="picker" ref={place}>
      <legend>
        <span class="strong">{slot.label}</span> of {of}
      </legend>
      {outside && <p class="measure">{chosen} is not among the options of this slot any more. Choose another.</p>}
      {groups.length === 0 && (
        <p class="measure">{slot.label} has no options: choose grades, families or finishes in the slots above.</p>
      )}
      {none && <p class="measure">{none}</p>}
      {groups.map(({ title, items }) => (
        <div class="picker-group" key={title}>
          <p class="small soft">{title}</p>
          <div class="finish-ticks">
            {items.map(({ finish, status }) => (
              <label class="tick" key={finish.finish}>
                <input
                  type="radio"
                  name="finish"
                  checked={finish.finish === chosen}
                  onChange={() => onPick(finish.finish)}
                />
                <span>
                  <Chip hex={finish.resolved.hex} /> {finish.name} <small class="soft code">{finish.finish}</small>
                  {status && <small> {status}</small>}
                  {forbidden.has(finish.finish) && <small class="against">{forbidden.get(finish.finish)}</small>}
                </span>
              </label>
            ))}
          </div>
        </div>
      ))}
      <div class="picker-group">
        <label class="tick">
          <input type="radio" name="finish" checked={chosen === null} onChange={() => onPick(null)} />
          <span>
            <Chip hex={null} /> No finish: the part stays as the model came
          </span>
        </label>
      </div>
      <button type="button" onClick={onClose}>
        Close
      </button>
    </fieldset>
  );
}
