import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import published from '../../web/viewer/package/custom-elements.json';

// The viewer's manifest of custom elements (schema 1.0.0 of the Web Components community group) and its README name what the source
// has.

const FOLDER = fileURLToPath(new URL('../../web/viewer/', import.meta.url));
const source = readdirSync(FOLDER)
  .filter((name) => name.endsWith('.ts'))
  .map((name) => readFileSync(`${FOLDER}${name}`, 'utf8'))
  .join('\n');
const element = published.modules[0]!.declarations[0]!;
const named = (list: readonly { readonly name: string }[]) => list.map(({ name }) => name).sort();
const find = (pattern: RegExp) => [...new Set([...source.matchAll(pattern)].map(([, name]) => name!))].sort();

it('names every attribute, property, event, part and custom property of the viewer', () => {
  const observed = /observedAttributes = \[([^\]]+)\]/.exec(source)![1]!.match(/\w+/g)!;
  expect(named(element.attributes)).toEqual([...observed, 'theme'].sort());
  expect(source).toContain(":host([theme='auto'])");
  expect(named(element.members)).toEqual(find(/^ {2}get (\w+)\(/gm));
  expect(named(element.events)).toEqual(find(/#tell\('(\w+)'/g));
  const listed = /\[this\.#frame, 'frame'\][\s\S]*?\] as const/.exec(source)![0];
  const parts = [...find(/part\.add\('(\w+)'\)/g), ...listed.match(/(?<=')\w+(?=')/g)!];
  expect(named(element.cssParts)).toEqual([...new Set(parts)].sort());
  expect(named(element.cssProperties)).toEqual(find(/(--dyeworks-\w+):/g));
});

it('names them in the README of its package', () => {
  const readme = readFileSync(`${FOLDER}package/README.md`, 'utf8');
  const { attributes, members, events, cssParts, cssProperties } = element;
  for (const { name } of [...attributes, ...members, ...events, ...cssParts, ...cssProperties]) {
    expect(readme, name).toMatch(new RegExp(`\`${name}[\`=]`));
  }
});
