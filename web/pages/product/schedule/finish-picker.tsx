import { useEffect, useRef } from 'preact/hooks';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { formatKey } from '../../../format.ts';
import { Chip } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';

interface FinishPickerProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly chosen: string | null;
  /** For each finish that the other choices of the row exclude: the reason, by code. */
  readonly forbidden: ReadonlyMap<string, string>;
  /** Why the other choices exclude all finishes; null if one is possible. */
  readonly none: string | null;
  /** Name of the variant. */
  readonly variant: string;
  readonly onPick: (finish: string | null) => void;
  readonly onClose: () => void;
}

/**
 * The finishes of a slot as a group of radio buttons: the arrow keys move through them, and the preview follows. A finish
 * that a rule excludes can still be picked, with the reason beside it, since the other choices may change next.
 */
export function FinishPicker({ model, slot, chosen, forbidden, none, variant, onPick, onClose }: FinishPickerProps) {
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
        <span class="strong">{slot.label}</span>
        {texts.ofVariant(variant)}
      </legend>
      {outside && <p class="measure">{texts.notAnOption(chosen)}</p>}
      {groups.length === 0 && <p class="measure">{texts.noOptions(slot.label)}</p>}
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
            <Chip hex={null} /> {texts.keepOriginal}
          </span>
        </label>
      </div>
      <button type="button" onClick={onClose}>
        {commonTexts.close}
      </button>
    </fieldset>
  );
}

interface AllowedFinish {
  readonly finish: FinishAnswer;
  /** Shown beside the name; null for a finish on sale. */
  readonly status: string | null;
}

interface AllowedGroup {
  readonly title: string;
  readonly items: readonly AllowedFinish[];
}

/** The allowed finishes by family and grade, in the order of the range. */
function groupAllowed(
  allowed: SlotAnswer['allowed'],
  getFinish: (code: string) => FinishAnswer | null,
): AllowedGroup[] {
  const groups = new Map<string, AllowedFinish[]>();
  for (const { finish: code, grade, status } of allowed) {
    const finish = getFinish(code);
    if (!finish) continue;
    const title = texts.family(formatKey(finish.family), grade);
    const items = groups.get(title) ?? [];
    groups.set(title, items);
    items.push({ finish, status: status === 'current' ? null : formatKey(status).toLowerCase() });
  }
  return [...groups].map(([title, items]) => ({ title, items }));
}
