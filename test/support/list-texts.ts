import { readFileSync } from 'node:fs';
import { parseSync } from 'vite';

/** A string or template of a source file; each value of a template is written as `…`. */
export interface FoundText {
  readonly text: string;
  /** Path and line, for a failure. */
  readonly where: string;
}

interface Node {
  readonly type: string;
  readonly start: number;
  readonly value?: unknown;
  readonly quasis?: readonly { readonly value: { readonly cooked: string } }[];
}

/** All strings and templates of a source file; keys, types and module names are left out. */
export function listTexts(path: string): FoundText[] {
  const source = readFileSync(path, 'utf8');
  const found: FoundText[] = [];
  const visit = (value: unknown): void => {
    if (Array.isArray(value)) for (const each of value) visit(each);
    else if (typeof value === 'object' && value !== null) visitNode(value as Node & Record<string, unknown>);
  };
  const visitNode = (node: Node & Record<string, unknown>): void => {
    if (/^(Import|TS(?!As|Satisfies|NonNull))/.test(node.type)) return;
    const text = readText(node);
    if (text !== null) {
      found.push({ text, where: `${path}:${source.slice(0, node.start).split('\n').length}` });
    }
    for (const [key, child] of Object.entries(node)) {
      const skipped = key === 'key' || key === 'source' || key === 'quasis' || key === 'typeAnnotation';
      if (!skipped) visit(child);
    }
  };
  visit(parseSync(path, source).program);
  return found;
}

function readText({ type, value, quasis }: Node): string | null {
  if (type === 'Literal' && typeof value === 'string') return value;
  return type === 'TemplateLiteral' ? quasis!.map((piece) => piece.value.cooked).join('…') : null;
}
