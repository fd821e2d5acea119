import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

/** The published vocabulary of schema.org: properties of each type, with those that it inherits, and all names of members. */
export interface Vocabulary {
  listProperties(type: string): ReadonlySet<string>;
  hasMember(address: string): boolean;
}

/** Reads it from the types of schema-dts (2.1.0), which are made from the vocabulary. */
export function readSchemaOrg(): Vocabulary {
  const text = readFileSync(
    createRequire(import.meta.url)
      .resolve('schema-dts')
      .replace(/\.js$/, '.d.ts'),
    'utf8',
  );
  const bases = new Map<string, { readonly parents: readonly string[]; readonly properties: readonly string[] }>();
  for (const [, name, parents = '', body] of text.matchAll(
    /^(?:export )?interface (\w+?)Base(?: extends ([^{]+))? \{\n([\s\S]*?)^\}/gm,
  )) {
    bases.set(name!, {
      parents: [...parents.matchAll(/(\w+?)Base\b/g)].map(([, parent]) => parent!),
      properties: [...body!.matchAll(/^ {4}"(\w+)"\?:/gm)].map(([, property]) => property!),
    });
  }
  // some leaves have no base of their own
  const leaves = new Map(
    [...text.matchAll(/interface (\w+?)Leaf extends (\w+?)Base \{\n\s*"@type": "([^"]+)"/g)].map(([, , base, type]) => [
      type!,
      base!,
    ]),
  );
  const collect = (name: string): string[] => {
    const base = bases.get(name);
    return base ? [...base.properties, ...base.parents.flatMap(collect)] : [];
  };
  return {
    listProperties(type) {
      const base = leaves.get(type);
      if (base === undefined) throw new Error(`schema.org has no type ${type}`);
      return new Set(collect(base));
    },
    hasMember: (address) => text.includes(`"${address}"`),
  };
}
