import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseAst } from 'vite';
import type { Node } from './syntax.ts';

interface ShownText {
  /** `finishes.ts: gloss.units(2)`. */
  readonly where: string;
  readonly text: string;
}

/**
 * Sample arguments for parameters whose type is a name, by the source text of the type. Types that are spelled out in
 * the strings module need none: numbers, strings, booleans, literals, lists, objects and their unions.
 */
const NAMED_SAMPLES: Readonly<Record<string, readonly unknown[]>> = {
  Verdict: ['ready', 'attention', 'blocked'],
  ArchiveKind: ['line', 'product', 'finish', 'article', 'budget', 'picture-set'],
  CombinationCount: [
    { count: 0n, exact: true },
    { count: 1n, exact: true },
    { count: 2n, exact: true },
    { lower: 1n, upper: 2n, exact: false },
  ],
  CheckSetFigures: [0, 1, 2].flatMap((added) =>
    [0, 1, 2].flatMap((n) => [
      { added, standing: n, finishes: n, pairs: n, impossible: n, unsettled: 0, bound: 1 },
      { added, standing: n, finishes: 2, pairs: 2, impossible: 2, unsettled: n, bound: 2 },
    ]),
  ),
  Mount: ['floor', 'table', 'wall', 'ceiling'],
  Axis: ['x', 'y', 'z'],
  "Survey['unused']": [0, 1, 2].map((n) => ({
    nodes: n,
    meshes: n,
    materials: n,
    textures: n,
    images: n,
    accessors: n,
    bufferViews: n,
    bytes: n,
  })),
};

const WEB = new URL('../../web/', import.meta.url);
const TEXTS = new URL('texts/', WEB);
/** More combinations of sample arguments would only repeat the same sentences. */
const MOST_COMBINATIONS = 200;

/**
 * Every text of the pages: those of index.html, and those of every strings module in web/texts. Of functions, these are
 * the results for sample arguments.
 */
export async function readTexts(): Promise<ShownText[]> {
  const files = readdirSync(TEXTS).filter((name) => name.endsWith('.ts'));
  const texts = await Promise.all(
    files.map(async (file) => {
      const url = new URL(file, TEXTS);
      const module: Record<string, unknown> = await import(fileURLToPath(url));
      const source = readFileSync(url, 'utf8');
      const declared = listDeclarations(parseAst(source, { lang: 'ts' }) as unknown as Node);
      return Object.entries(module).flatMap(([name, value]) =>
        collect(value, declared.get(name), { file, source, declared, path: '' }),
      );
    }),
  );
  return [...readPageTexts('index.html'), ...texts.flat()];
}

/** The text between the tags of a page, which a browser shows without JavaScript. */
function readPageTexts(file: string): ShownText[] {
  const page = readFileSync(new URL(file, WEB), 'utf8');
  return [...page.matchAll(/<(\w+)>([^<>]*\p{L}[^<>]*)</gu)].map(([, tag, text]) => ({
    where: `${file}: ${tag}`,
    text: text!,
  }));
}

interface Context {
  readonly file: string;
  readonly source: string;
  readonly declared: ReadonlyMap<string, Node>;
  readonly path: string;
}

function collect(value: unknown, node: Node | undefined, context: Context): ShownText[] {
  const { file, path } = context;
  if (typeof value === 'string') return [{ where: `${file}: ${path}`, text: value }];
  if (typeof value === 'function') return callWithSamples(value as (...args: unknown[]) => unknown, node, context);
  if (typeof value !== 'object' || value === null) return [];
  const properties = new Map(
    ((unwrap(node)?.properties ?? []) as readonly Node[]).map((property) => [getKey(property), property.value as Node]),
  );
  return Object.entries(value).flatMap(([key, each]) =>
    collect(each, resolve(properties.get(key), context), { ...context, path: path === '' ? key : `${path}.${key}` }),
  );
}

function callWithSamples(run: (...args: unknown[]) => unknown, node: Node | undefined, context: Context): ShownText[] {
  const { file, path } = context;
  const parameters = unwrap(node)?.params as readonly Node[] | undefined;
  if (!parameters)
    throw new Error(`${file}: ${path} has no parameters that this test can read. Write it as a function.`);
  return combine(parameters.map((parameter) => listParameterSamples(parameter, context))).map((args) => {
    const where = `${file}: ${path}(${args.map((arg) => formatArgument(arg)).join(', ')})`;
    const text = run(...args);
    if (typeof text !== 'string') throw new Error(`${where} gives ${typeof text}; a text is a string.`);
    return { where, text };
  });
}

function listParameterSamples(parameter: Node, context: Context): unknown[] {
  if (parameter.type === 'AssignmentPattern') {
    const { value } = parameter.right as Node;
    if (typeof value === 'boolean') return [true, false];
    return [undefined, ...listParameterSamples(parameter.left as Node, context)];
  }
  const annotation = parameter.typeAnnotation as Node | null;
  if (!annotation) throw new Error(`${context.file}: ${context.path}: a parameter has no type.`);
  const samples = listSamples(annotation.typeAnnotation as Node, context);
  return parameter.optional ? [undefined, ...samples] : samples;
}

function listSamples(type: Node, context: Context): unknown[] {
  switch (type.type) {
    case 'TSNumberKeyword':
      return [0, 1, 2];
    case 'TSBigIntKeyword':
      return [0n, 1n, 2n];
    case 'TSStringKeyword':
      return ['Sample'];
    case 'TSUnknownKeyword':
      return ['Sample', 2];
    case 'TSBooleanKeyword':
      return [true, false];
    case 'TSNullKeyword':
      return [null];
    case 'TSUndefinedKeyword':
      return [undefined];
    case 'TSLiteralType':
      return [(type.literal as Node).value];
    case 'TSUnionType':
      return (type.types as readonly Node[]).flatMap((each) => listSamples(each, context));
    case 'TSParenthesizedType':
    case 'TSTypeOperator':
      return listSamples(type.typeAnnotation as Node, context);
    case 'TSArrayType': {
      const items = listSamples(type.elementType as Node, context);
      return [items.slice(0, 1), [items[0], items.at(-1)], [...items, ...items, ...items]];
    }
    case 'TSTupleType':
      return combine((type.elementTypes as readonly Node[]).map((each) => listSamples(each, context)));
    case 'TSNamedTupleMember':
      return listSamples(type.elementType as Node, context);
    case 'TSTypeLiteral': {
      const members = type.members as readonly Node[];
      const samples = members.map((member) => {
        const values = listSamples((member.typeAnnotation as Node).typeAnnotation as Node, context);
        return member.optional ? [undefined, ...values] : values;
      });
      return combine(samples).map((values) =>
        Object.fromEntries(members.map((member, at) => [getKey(member), values[at]])),
      );
    }
    default: {
      const name = context.source.slice(type.start, type.end);
      const samples = NAMED_SAMPLES[name];
      if (samples) return [...samples];
      throw new Error(`${context.file}: ${context.path}: add samples of the type ${name} to NAMED_SAMPLES.`);
    }
  }
}

/** Every combination of one value from each list, up to a limit. */
function combine(lists: readonly (readonly unknown[])[]): unknown[][] {
  return lists.reduce<unknown[][]>(
    (rows, list) => rows.flatMap((row) => list.map((value) => [...row, value])).slice(0, MOST_COMBINATIONS),
    [[]],
  );
}

/** Constants and functions at the top of a module, by name. */
function listDeclarations(program: Node): Map<string, Node> {
  const declared = new Map<string, Node>();
  for (const statement of program.body as readonly Node[]) {
    const declaration = (statement.declaration ?? statement) as Node;
    if (declaration.type === 'FunctionDeclaration') declared.set((declaration.id as Node).name as string, declaration);
    if (declaration.type !== 'VariableDeclaration') continue;
    for (const { id, init } of declaration.declarations as readonly Node[]) {
      declared.set((id as Node).name as string, init as Node);
    }
  }
  return declared;
}

/** Follows a name to its declaration in the same module. */
function resolve(node: Node | undefined, { declared }: Context): Node | undefined {
  return node?.type === 'Identifier' ? declared.get(node.name as string) : node;
}

/** Removes `as const` and `satisfies`. */
function unwrap(node: Node | undefined): Node | undefined {
  return node?.type === 'TSAsExpression' || node?.type === 'TSSatisfiesExpression'
    ? unwrap(node.expression as Node)
    : node;
}

function getKey({ key }: Node): string {
  return String((key as Node).name ?? (key as Node).value);
}

/** An argument as source text, with bigints as `2n`. */
function formatArgument(value: unknown): string {
  const bigints = (_key: string, each: unknown) => (typeof each === 'bigint' ? `${each}n` : each);
  return typeof value === 'bigint' ? `${value}n` : JSON.stringify(value, bigints);
}
