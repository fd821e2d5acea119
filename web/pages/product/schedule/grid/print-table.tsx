import { render } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { GridModel } from './grid-model.ts';

/** All rows as a plain table. It exists only while the page is printed: two thousand rows would slow down every key. */
export function PrintTable({ grid }: { readonly grid: GridModel }) {
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const fill = () => render(<AllRows grid={grid} />, place.current!);
    const empty = () => render(null, place.current!);
    const media = window.matchMedia('print');
    const follow = () => (media.matches ? fill() : empty());
    window.addEventListener('beforeprint', fill);
    window.addEventListener('afterprint', empty);
    media.addEventListener('change', follow);
    return () => {
      window.removeEventListener('beforeprint', fill);
      window.removeEventListener('afterprint', empty);
      media.removeEventListener('change', follow);
    };
  }, [grid]);
  return <div ref={place} class="print-only" />;
}

function AllRows({ grid }: { readonly grid: GridModel }) {
  const columns = grid.columns.value.filter(({ kind }) => kind !== 'picture');
  return (
    <table>
      <thead>
        <tr>
          {columns.map(({ id, label }) => (
            <th scope="col" key={id}>
              {label}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {grid.shown.value.map((row) => (
          <tr key={row.key}>
            {columns.map((column) => (
              <td key={column.id}>{grid.readText(row, column)}</td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}
