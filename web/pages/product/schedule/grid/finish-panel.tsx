import { useSignal } from '@preact/signals';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { seg } from '../../../../api.ts';
import { Chip, Picture } from '../../../../parts/picture.tsx';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { ProductModel } from '../../product-model.ts';
import { chooseFinish } from './grid-commands.ts';
import { listOffers } from './list-offers.ts';
import { Panel } from './panel.tsx';

interface FinishPanelProps {
  readonly model: ProductModel;
  /** What was typed over the cell. */
  readonly text: string;
  readonly onClose: () => void;
}

const LIST = 'finishes-on-offer';
/** No option is active, so Enter sets nothing. */
const NONE = -1;
const optionId = (at: number) => `${LIST}-${at}`;

/**
 * The finishes of the selected cells: a field to search in, and a list that the arrow keys go through while the product
 * shows each one. A finish that a rule excludes can still be set, with the reason beside it, since another choice may change
 * next.
 */
export function FinishPanel({ model, text, onClose }: FinishPanelProps) {
  const { grid } = model;
  const row = grid.cursorRow.value;
  const slots = grid.selectedSlots.value;
  const cursor = grid.cursorColumn.value;
  const key = cursor?.kind === 'slot' ? cursor.slot : slots[0]?.slot;
  const slot = grid.slots.value.find((each) => each.slot === key);
  const typed = useSignal(text);
  const field = useRef<HTMLInputElement>(null);
  const chosen = row && slot ? (grid.choiceAt(row, slot.slot) ?? null) : null;
  const groups = slot ? listOffers(slot, grid.getFinish, typed.value, grid.recent.value) : [];
  const flat = groups.flatMap(({ offers }) => offers);
  /** Place in the list; the number of finishes for “no finish”. Null follows the text, or the cell. */
  const moved = useSignal<number | null>(null);
  const standing = flat.findIndex(({ finish }) => finish.finish === chosen);
  const found = flat.length > 0 ? 0 : NONE;
  const active = moved.value === null ? (typed.value === '' ? standing : found) : Math.min(moved.value, flat.length);
  const offered = flat[active];

  // another cell: its own finish, and no text from before
  const place = `${row?.key} ${key}`;
  const first = useRef(place);
  useEffect(() => {
    if (first.current === place) return;
    first.current = place;
    typed.value = '';
    moved.value = null;
  }, [place]);
  useLayoutEffect(() => {
    field.current?.focus({ preventScroll: true });
  }, []);
  useLayoutEffect(() => {
    document.getElementById(optionId(active))?.scrollIntoView({ block: 'nearest' });
  }, [active, typed.value]);
  const isAsStands = active === NONE || (moved.value === null && typed.value === '');
  const tried = isAsStands ? undefined : (offered?.finish.finish ?? null);
  useEffect(() => {
    // one change of the product per frame, however fast the keys come
    const frame = requestAnimationFrame(() => {
      grid.schedule.trial.value = tried === undefined ? null : { slots: slots.map((each) => each.slot), finish: tried };
    });
    return () => cancelAnimationFrame(frame);
  }, [tried, place]);
  useEffect(
    () => () => {
      grid.schedule.trial.value = null;
    },
    [],
  );

  if (!row || !slot) {
    return (
      <Panel title={texts.finishes} onClose={onClose}>
        <p>{texts.pickSlot}</p>
      </Panel>
    );
  }
  const guide = grid.choices.guide.value;
  const forbidden = guide.listForbidden(row.choices, slot.slot);
  const none = guide.explainNoneLeft(row.choices, slot.slot);
  const isOutside = chosen !== null && !slot.allowed.some(({ finish }) => finish === chosen);
  const set = (finish: string | null) => {
    grid.schedule.trial.value = null;
    chooseFinish(grid, finish);
    onClose();
  };
  const rows = new Set(grid.cells().keys).size;
  let at = 0;
  return (
    <Panel
      title={texts.chooseFor(
        slots.map(({ label }) => label),
        rows,
      )}
      onClose={onClose}
    >
      <input
        ref={field}
        type="text"
        role="combobox"
        aria-label={texts.searchFinish}
        aria-expanded="true"
        aria-controls={LIST}
        aria-activedescendant={active === NONE ? undefined : optionId(active)}
        aria-autocomplete="list"
        placeholder={texts.searchFinish}
        autocomplete="off"
        spellcheck={false}
        value={typed.value}
        onInput={(event) => {
          typed.value = event.currentTarget.value;
          moved.value = null;
        }}
        onKeyDown={(event) => {
          if (event.isComposing) return;
          const steps: Record<string, number> = {
            ArrowDown: active + 1,
            ArrowUp: active === NONE ? flat.length : active - 1,
            PageDown: active + 8,
            PageUp: active === NONE ? flat.length : active - 8,
          };
          const next = steps[event.key];
          if (next !== undefined) moved.value = Math.max(0, Math.min(next, flat.length));
          else if (event.key !== 'Enter') return;
          else if (active !== NONE) set(offered?.finish.finish ?? null);
          event.preventDefault();
        }}
      />
      {isOutside && <p class="small">{texts.notAnOption(chosen)}</p>}
      {slot.allowed.length === 0 && <p class="small">{texts.noOptions(slot.label)}</p>}
      {none && <p class="small">{none}</p>}
      {typed.value !== '' && flat.length === 0 && <p class="small">{texts.noMatch(typed.value)}</p>}
      <div class="offers" role="listbox" id={LIST} aria-label={texts.finishes} tabIndex={-1}>
        {groups.map((group) => (
          <div role="group" aria-label={group.title} key={group.title}>
            <p class="small soft" aria-hidden="true">
              {group.title}
            </p>
            {group.offers.map(({ finish, details }) => {
              const place = at++;
              const reason = forbidden.get(finish.finish);
              return (
                <div
                  role="option"
                  key={finish.finish}
                  id={optionId(place)}
                  class="offer"
                  aria-selected={place === active}
                  tabIndex={-1}
                  onClick={() => set(finish.finish)}
                  onKeyDown={() => undefined}
                >
                  <Chip hex={finish.resolved.hex} />
                  <span>
                    {finish.name} <small class="soft code">{finish.finish}</small>
                    {finish.finish === chosen && <small class="strong"> {texts.currentFinish}</small>}
                    {details && <small class="soft block">{details}</small>}
                    {reason && <small class="against block">{reason}</small>}
                  </span>
                </div>
              );
            })}
          </div>
        ))}
        <div
          role="option"
          id={optionId(flat.length)}
          class="offer"
          aria-selected={active === flat.length}
          tabIndex={-1}
          onClick={() => set(null)}
          onKeyDown={() => undefined}
        >
          <Chip hex={null} />
          <span>{texts.keepOriginal}</span>
        </div>
      </div>
      {offered && (
        <div class="offer-swatch">
          <Picture
            address={`/api/finishes/${seg(offered.finish.finish)}/swatch.webp?kind=sphere&size=256`}
            alt={texts.swatchOf(offered.finish.name)}
          />
          <span class="flat" aria-hidden="true" style={{ backgroundColor: offered.finish.resolved.hex }} />
        </div>
      )}
    </Panel>
  );
}
