/** The head of a table, with a name for each column; empty for one of buttons. */
export function ColumnHeads({ names }: { readonly names: readonly string[] }) {
  return (
    <thead>
      <tr>
        {names.map((name) =>
          name === '' ? (
            <td key={name} />
          ) : (
            <th key={name} scope="col">
              {name}
            </th>
          ),
        )}
      </tr>
    </thead>
  );
}
