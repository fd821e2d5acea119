import { Field } from '../../parts/field.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { PairRows } from './pair-rows.tsx';
import type { TradeForm } from './trade-form.ts';

interface TradeFieldsProps {
  readonly form: TradeForm;
  readonly change: (part: Partial<TradeForm>) => void;
}

/** What the trade knows a finish by, apart from its look. */
export function TradeFields({ form, change }: TradeFieldsProps) {
  return (
    <>
      <TextField name="Supplier" value={form.supplier} maxLength={120} onInput={(supplier) => change({ supplier })} />
      <TextField name="Tags, between commas" value={form.tags} onInput={(tags) => change({ tags })} />
      <TextField
        name="Colour system it refers to"
        value={form.system}
        maxLength={120}
        onInput={(system) => change({ system })}
      />
      <TextField
        name="Code in that system"
        value={form.systemCode}
        maxLength={120}
        onInput={(systemCode) => change({ systemCode })}
      />
      <TextField
        name="Texture by the maker’s word"
        value={form.texture}
        maxLength={120}
        onInput={(texture) => change({ texture })}
      />
      <div class="whole">
        <Field name="Note">
          <textarea
            class={form.note.trim() === '' ? 'blank' : undefined}
            rows={2}
            maxLength={2000}
            value={form.note}
            onInput={(event) => change({ note: event.currentTarget.value })}
          />
        </Field>
      </div>
      <div class="whole pair-tables">
        <PairRows
          title="Names in other languages"
          heads={['Language, such as de', 'Name in it']}
          pairs={form.names}
          onChange={(names) => change({ names })}
        />
        <PairRows
          title="Companions"
          heads={['Position that follows', 'Code of the finish there']}
          pairs={form.companions}
          onChange={(companions) => change({ companions })}
        />
      </div>
    </>
  );
}
