import { IMPORT_COLUMNS } from '../../../server/core/import/import-columns.ts';

/** What the columns of a CSV are called, and an example of one. */
export function ColumnTable() {
  return (
    <section>
      <div class="section-head">
        <h2>Columns of a CSV</h2>
        <p>
          The first row names them, in any order; code and name are needed.{' '}
          <a href="/api/finishes/import/example.csv" download="finishes-example.csv">
            Download an example
          </a>
        </p>
      </div>
      <table class="import-columns">
        <thead>
          <tr>
            <th scope="col">Column</th>
            <th scope="col">Holds</th>
          </tr>
        </thead>
        <tbody>
          {IMPORT_COLUMNS.map(({ columns, holds, needed }) => (
            <tr key={columns[0]}>
              <th scope="row" class={needed ? 'strong' : undefined}>
                {columns.join(', ')}
              </th>
              <td>{holds}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small measure after-table">
        Separated by comma, semicolon or tab; with semicolons numbers may have a decimal comma. UTF-8, or UTF-16 with a
        byte order mark. An empty cell says nothing: a known finish keeps what it has. Cells that a spreadsheet would
        run as a formula are refused.
      </p>
    </section>
  );
}
