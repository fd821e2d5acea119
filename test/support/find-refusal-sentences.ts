import { parseAst } from 'vite';
import type { Node } from './read-texts.ts';

/** Functions that refuse a call with a sentence among their arguments. */
const REFUSING = /^(?:\w*Problem|refuse|unreadable|broken)$/;

/**
 * Sentences of refusals that stand at a call site instead of `server/core/texts/problems`: the `detail` of a problem, and
 * any whole sentence among the arguments of a function that refuses.
 * @returns each with its line: `12: The file is damaged.`
 */
export function findRefusalSentences(source: string): string[] {
  const found: string[] = [];
  const report = (node: Node, text: string) => found.push(`${source.slice(0, node.start).split('\n').length}: ${text}`);

  const visit = (node: Node, place: 'elsewhere' | 'refusal' | 'detail'): void => {
    if (node.type === 'ImportDeclaration') return;
    const text = readText(node);
    if (text !== null && place !== 'elsewhere' && isSentence(text, place === 'detail')) report(node, text);
    const { name } = (node.callee ?? {}) as { readonly name?: unknown };
    const refuses = typeof name === 'string' && REFUSING.test(name);
    for (const [key, value] of Object.entries(node)) {
      const isDetail = node.type === 'Property' && key === 'value' && place === 'refusal' && nameOf(node) === 'detail';
      const inner = refuses && key === 'arguments' ? 'refusal' : isDetail ? 'detail' : place;
      for (const child of Array.isArray(value) ? value : [value]) {
        if (child !== null && typeof child === 'object' && typeof child.type === 'string') visit(child, inner);
      }
    }
  };
  visit(parseAst(source, { lang: 'ts' }) as unknown as Node, 'elsewhere');
  return found;
}

function nameOf(property: Node): unknown {
  return (property.key as Node).name;
}

function readText(node: Node): string | null {
  if (node.type === 'Literal') return typeof node.value === 'string' ? node.value : null;
  if (node.type !== 'TemplateLiteral') return null;
  return (node.quasis as readonly Node[]).map(({ value }) => (value as { readonly cooked: string }).cooked).join('…');
}

/** A detail may hold no words at all; other arguments, such as what was expected, no whole sentence. */
function isSentence(text: string, isDetail: boolean): boolean {
  return isDetail ? /\p{L}{2,} |…: …/u.test(text) : /\p{L}{2,} .*\.$/u.test(text);
}
