import { XMLParser, XMLValidator } from 'fast-xml-parser';
import type { XmlElement } from '../core/import/read-cxf.ts';
import { Problem } from '../core/problems.ts';
import { IMPORT_PROBLEMS } from '../core/texts/problems/finish.ts';

const TEXTS = IMPORT_PROBLEMS['import-unreadable'];

/** Depth of nested elements. CxF3 uses about ten. */
const DEPTH = 64;
/** Twenty thousand finishes with Lab have half as many. A million empty elements took nine seconds to read. */
const MOST_ELEMENTS = 400_000;

const META = XMLParser.getMetaDataSymbol() as symbol;

/** A node of the parser: its one key is the element's name or `#text`; attributes are under `:@`. */
type Node = Record<string | symbol, unknown>;

/**
 * An XML document as a tree. Document types and declared entities are refused anywhere in the file, so reading it loads no
 * other file and expands no text. Only XML's five own entities and numeric characters are known.
 * @throws Problem `import-unreadable`
 */
export function parseXml(text: string): XmlElement {
  const forbidden = /<!\s*(DOCTYPE|ENTITY|ELEMENT|ATTLIST|NOTATION)/i.exec(text);
  if (forbidden) throw unreadable(TEXTS.xmlDeclaration(forbidden[1]!.toUpperCase()));
  const encoding = /^\s*<\?xml[^>]*?\bencoding\s*=\s*["']([^"']{1,40})["']/.exec(text)?.[1];
  if (encoding && !/^(utf-?8|utf-?16|us-ascii)$/i.test(encoding) && /[^\0-\x7f]/.test(text)) {
    throw new Problem('text-encoding', {
      detail: IMPORT_PROBLEMS['text-encoding'].xmlDeclaresAnother(encoding),
      expected: 'UTF-8',
      received: encoding,
    });
  }
  if (countTags(text) > MOST_ELEMENTS) throw unreadable(TEXTS.xmlTooManyElements(MOST_ELEMENTS));
  const roots = (parse(text) as Node[]).filter((node) => isElement(nameOf(node)));
  if (roots.length !== 1) throw unreadable(TEXTS.xmlRoots(roots.length));
  return makeTree(roots[0]!, makeLineCounter(text));
}

/** Counts opening tags, in comments too. */
function countTags(text: string): number {
  let count = 0;
  for (let at = text.indexOf('<'); at >= 0; at = text.indexOf('<', at + 1)) if (text[at + 1] !== '/') count += 1;
  return count;
}

function parse(text: string): unknown {
  let nodes: unknown;
  try {
    // the parser runs first: it limits the depth, and the validator does not
    nodes = new XMLParser({
      preserveOrder: true,
      ignoreAttributes: false,
      attributeNamePrefix: '',
      parseTagValue: false,
      processEntities: false,
      captureMetaData: true,
      maxNestedTags: DEPTH,
    }).parse(text);
  } catch (cause) {
    throw unreadable(TEXTS.xmlTooDeep, cause);
  }
  const checked = XMLValidator.validate(text);
  if (checked === true) return nodes;
  throw unreadable(TEXTS.xmlFault(checked.err.line, checked.err.msg.slice(0, 160).replace(/\.$/, '')));
}

const nameOf = (node: Node) => Object.keys(node).find((key) => key !== ':@') ?? '';
const isElement = (name: string) => !name.startsWith('#') && !name.startsWith('?');

/** Finds the line of a position in the text. Positions must rise from call to call. */
function makeLineCounter(text: string): (index: number) => number {
  let line = 1;
  let at = text.indexOf('\n');
  return (index) => {
    for (; at >= 0 && at < index; at = text.indexOf('\n', at + 1)) line += 1;
    return line;
  };
}

function makeTree(root: Node, lineAt: (index: number) => number): XmlElement {
  const make = (node: Node, scope: ReadonlyMap<string, string>): XmlElement => {
    const qualified = nameOf(node);
    const line = lineAt((node[META] as { startIndex?: number } | undefined)?.startIndex ?? 0);
    const attributes = new Map(
      Object.entries((node[':@'] ?? {}) as Record<string, unknown>).map(([name, value]) => [
        name,
        decode(String(value), line),
      ]),
    );
    const declared = [...attributes].filter(([name]) => /^xmlns(:|$)/.test(name));
    const within =
      declared.length === 0
        ? scope
        : new Map([...scope, ...declared.map(([name, uri]) => [name.slice('xmlns:'.length), uri] as const)]);
    const [prefix, local] = qualified.includes(':') ? qualified.split(':', 2) : ['', qualified];
    const inner = node[qualified] as Node[];
    const children: XmlElement[] = [];
    let text = '';
    for (const child of inner) {
      const name = nameOf(child);
      if (name === '#text') text += `${decode(String(child['#text']), line)} `;
      else if (isElement(name)) children.push(make(child, within));
    }
    return { name: local!, namespace: within.get(prefix!) ?? '', attributes, children, text: text.trim(), line };
  };
  return make(root, new Map());
}

const NAMED: Readonly<Record<string, string>> = { lt: '<', gt: '>', amp: '&', quot: '"', apos: "'" };

function decode(text: string, line: number): string {
  if (!text.includes('&')) return text;
  return text.replace(/&(?:#(\d{1,7})|#x([0-9a-f]{1,6})|([\w.-]{1,40}));|&/gi, (found, decimal, hex, name) => {
    const point = decimal ? Number(decimal) : hex ? Number.parseInt(hex, 16) : null;
    if (point !== null && point > 0 && point <= 0x10ffff) return String.fromCodePoint(point);
    const known = typeof name === 'string' && Object.hasOwn(NAMED, name) ? NAMED[name] : undefined;
    if (known !== undefined) return known;
    throw unreadable(TEXTS.xmlEntity(line, found.slice(0, 20)));
  });
}

function unreadable(detail: string, cause?: unknown): Problem {
  return new Problem('import-unreadable', {
    detail,
    expected: 'well-formed XML without a document type',
    ...(cause !== undefined && { cause }),
  });
}
