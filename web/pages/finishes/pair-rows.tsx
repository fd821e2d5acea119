import type { Pair } from './trade-form.ts';

interface PairRowsProps {
  readonly title: string;
  /** What stands in either column. */
  readonly heads: readonly [string, string];
  readonly pairs: readonly Pair[];
  readonly onChange: (pairs: readonly Pair[]) => void;
}

/** A table of two columns to write in; the row at its foot is always empty, and an emptied row is none. */
export function PairRows({ title, heads, pairs, onChange }: PairRowsProps) {
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
      <caption class="unseen">{title}</caption>
      <thead>
        <tr>
          {heads.map((head) => (
            <th key={head} scope="col">
              {head}
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
                  aria-label={`${heads[column]}, row ${row + 1}`}
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
