import { useSignal } from '@preact/signals';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { makePattern } from '../../../../../server/core/schedule/name-rows.ts';
import { Field } from '../../../../parts/form.tsx';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { GridModel } from './grid-model.ts';
import { Panel } from './panel.tsx';
import { listFollowing, useTemplate } from './row-texts.ts';

/** The templates of names and codes of this product. */
export function TemplatePanel({ grid, onClose }: { readonly grid: GridModel; readonly onClose: () => void }) {
  const place = useRef<HTMLInputElement>(null);
  const draft = grid.schedule.draft.value;
  const slots = grid.slotKeys.value;
  const name = useSignal(draft.template?.name ?? makePattern(slots));
  const code = useSignal(draft.template?.code ?? slots.map((slot) => `{${slot}}`).join('-'));
  useLayoutEffect(() => place.current?.focus(), []);
  const following = listFollowing(draft, grid.textsOf.value, 'name');
  const overridden = new Set(draft.rows.flatMap(({ key }) => (following.has(key) ? [] : [key])));
  const use = () => {
    const template = { name: name.value.trim(), code: code.value.trim() };
    const codes = listFollowing(draft, grid.textsOf.value, 'code');
    grid.edit(texts.steps.template, (before) =>
      useTemplate({ ...before, template }, following, grid.textsFor(template), codes),
    );
  };
  return (
    <Panel title={texts.template} onClose={onClose}>
      <p class="small soft">{texts.templateHint}</p>
      <Field name={texts.nameOfTemplate}>
        <input
          ref={place}
          type="text"
          maxLength={400}
          value={name.value}
          onInput={(event) => {
            name.value = event.currentTarget.value;
          }}
        />
      </Field>
      <Field name={texts.codeOfTemplate}>
        <input
          type="text"
          maxLength={400}
          value={code.value}
          onInput={(event) => {
            code.value = event.currentTarget.value;
          }}
        />
      </Field>
      <p class="small soft">{texts.templateSlots(slots)}</p>
      <div class="actions">
        <button
          type="button"
          class="main"
          onClick={() => {
            use();
            onClose();
          }}
        >
          {texts.keepTemplate}
        </button>
      </div>
      {overridden.size > 0 && (
        <>
          <p class="small">{texts.overridden(overridden.size)}</p>
          <button
            type="button"
            onClick={() =>
              grid.edit(texts.steps.rename, (before) => useTemplate(before, overridden, grid.textsOf.value))
            }
          >
            {texts.templateNames(overridden.size)}
          </button>
        </>
      )}
    </Panel>
  );
}
