import { readFileSync } from 'node:fs';
import { parseSync } from 'vite';
import { lineOf, listChildren, type Node, readLiteral } from './syntax.ts';

/** A string or template of a source file; each value of a template is written as `…`. */
interface FoundText {
  readonly text: string;
  /** Path and line, for a failure message. */
  readonly where: string;
}

/** Properties without text: keys, types and module names. */
const PASSED_OVER: ReadonlySet<string> = new Set(['key', 'source', 'typeAnnotation']);

/** All strings and templates of a source file, without keys, types and module names. */
export function listTexts(path: string): FoundText[] {
  const source = readFileSync(path, 'utf8');
  const found: FoundText[] = [];
  const visit = (node: Node): void => {
    if (/^(Import|TS(?!As|Satisfies|NonNull))/.test(node.type)) return;
    const text = readLiteral(node);
    if (text !== null) found.push({ text, where: `${path}:${lineOf(source, node)}` });
    for (const { key, child } of listChildren(node)) if (!PASSED_OVER.has(key)) visit(child);
  };
  visit(parseSync(path, source).program as unknown as Node);
  return found;
}
