import { Field, TextField } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import type { Pair, TradeForm } from './finish-form.ts';

const texts = finishesTexts.trade;

interface TradeFieldsProps {
  readonly form: TradeForm;
  readonly change: (part: Partial<TradeForm>) => void;
}

/** Supplier, tags, references, translated names and companions. */
export function TradeFields({ form, change }: TradeFieldsProps) {
  return (
    <>
      <TextField
        name={texts.supplier}
        value={form.supplier}
        maxLength={120}
        onInput={(supplier) => change({ supplier })}
      />
      <TextField name={texts.tags} value={form.tags} onInput={(tags) => change({ tags })} />
      <TextField name={texts.system} value={form.system} maxLength={120} onInput={(system) => change({ system })} />
      <TextField
        name={texts.systemCode}
        value={form.systemCode}
        maxLength={120}
        onInput={(systemCode) => change({ systemCode })}
      />
      <TextField name={texts.texture} value={form.texture} maxLength={120} onInput={(texture) => change({ texture })} />
      <div class="whole">
        <Field name={texts.note}>
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
        <PairTable
          caption={texts.names}
          columns={[texts.language, commonTexts.name]}
          pairs={form.names}
          onChange={(names) => change({ names })}
        />
        <PairTable
          caption={texts.companions}
          columns={[texts.position, texts.companionCode]}
          pairs={form.companions}
          onChange={(companions) => change({ companions })}
        />
      </div>
    </>
  );
}

interface PairTableProps {
  readonly caption: string;
  readonly columns: readonly [string, string];
  readonly pairs: readonly Pair[];
  readonly onChange: (pairs: readonly Pair[]) => void;
}

/** An editable table of two columns. Its last row is always empty, for a new pair; clearing a row removes its pair. */
function PairTable({ caption, columns, pairs, onChange }: PairTableProps) {
  const last = pairs.at(-1);
  const rows: readonly Pair[] = last && last[0] === '' && last[1] === '' ? pairs : [...pairs, ['', '']];
  const write = (row: number, column: 0 | 1, text: string) =>
    onChange(
      rows.map((pair, at): Pair => {
        if (at !== row) return pair;
        return column === 0 ? [text, pair[1]] : [pair[0], text];
      }),
    );
  return (
    <table class="pairs">
      <caption class="unseen">{caption}</caption>
      <thead>
        <tr>
          {columns.map((column) => (
            <th key={column} scope="col">
              {column}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {rows.map((pair, row) => (
          <tr key={row} class={pair.join('').trim() === '' ? 'blank' : undefined}>
            {([0, 1] as const).map((column) => (
              <td key={column}>
                <input
                  aria-label={texts.cell(columns[column], row + 1)}
                  value={pair[column]}
                  spellcheck={false}
                  onInput={(event) => write(row, column, event.currentTarget.value)}
                />
              </td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}
