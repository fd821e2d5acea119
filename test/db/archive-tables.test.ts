import { sql } from 'kysely';
import { expect, it } from 'vitest';
import { ARCHIVED, LEFT_OUT } from '../../db/archive/archive-tables.ts';
import { openDatabase } from '../../db/open-database.ts';

it('exports each table, or says why not', async () => {
  const db = await openDatabase(':memory:');
  const { rows } = await sql<{ name: string }>`
    SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE 'kysely%'
  `.execute(db);
  const listed = [...Object.keys(ARCHIVED), ...Object.keys(LEFT_OUT)];
  // a new table of a line or product goes to ARCHIVED; one of the service, of people or of a cache to LEFT_OUT
  expect(listed.sort()).toEqual(rows.map(({ name }) => name).sort());
  // every table that ends with a product or a line belongs to it
  for (const { name } of rows.filter(({ name }) => name in LEFT_OUT)) {
    const parents = await sql<{ table: string }>`SELECT "table" FROM pragma_foreign_key_list(${name})`.execute(db);
    const own = ['product_summaries', 'person_lines'];
    const owners = parents.rows.filter(
      ({ table }) => table === 'products' || table === 'lines' || table === 'deliveries',
    );
    if (!own.includes(name)) expect(owners, name).toEqual([]);
  }
  await db.destroy();
});
