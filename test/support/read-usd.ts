/** A prim of a layer, read by the tests' own parser of the text form of USD (OpenUSD, "USDA file format"). */
export interface UsdPrim {
  readonly specifier: string;
  readonly type: string;
  readonly name: string;
  readonly metadata: Readonly<Record<string, unknown>>;
  /** Values by name, with its namespace and `.connect`; `<path>` for targets, `@path@` for files. */
  readonly properties: ReadonlyMap<string, unknown>;
  readonly interpolations: ReadonlyMap<string, unknown>;
  readonly children: ReadonlyMap<string, UsdPrim>;
  readonly sets: ReadonlyMap<string, ReadonlyMap<string, UsdPrim>>;
}

export interface UsdLayer {
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly root: UsdPrim;
}

const TOKEN =
  /\s+|"(?:[^"\\\n]|\\.)*"|<[^>\n]*>|@[^@\n]*@|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|[A-Za-z_][\w:.]*(?:\[\])?|[()[\]{}=,]/y;

/** Reads a whole layer; throws where the text is none. */
export function readUsda(text: string): UsdLayer {
  if (!text.startsWith('#usda 1.0\n')) throw new Error('no header');
  const tokens: string[] = [];
  TOKEN.lastIndex = 10;
  while (TOKEN.lastIndex < text.length) {
    const from = TOKEN.lastIndex;
    const match = TOKEN.exec(text);
    if (!match) throw new Error(`no token at ${from}: ${text.slice(from, from + 60)}`);
    if (match[0].trim() !== '') tokens.push(match[0]);
  }
  let at = 0;
  const peek = () => tokens[at];
  const next = () => tokens[at++]!;
  const expect = (token: string) => {
    const found = next();
    if (found !== token)
      throw new Error(`${found} in place of ${token} after ${tokens.slice(at - 12, at - 1).join(' ')}`);
  };
  function list<T>(close: string, read: () => T): T[] {
    const items: T[] = [];
    while (peek() !== close) {
      items.push(read());
      if (peek() === ',') next();
      else if (peek() !== close) throw new Error(`${peek()} in a list`);
    }
    next();
    return items;
  }
  function value(): unknown {
    const token = next();
    if (token === '[') return list(']', value);
    if (token === '(') return list(')', value);
    if (token === '{') return dictionary();
    if (token.startsWith('"')) return token.slice(1, -1).replace(/\\(.)/g, '$1');
    if (/^[<@]/.test(token)) return token;
    if (/^[-+.\d]/.test(token)) return Number(token);
    throw new Error(`${token} is no value`);
  }
  function dictionary(): Record<string, unknown> {
    const entries: Record<string, unknown> = {};
    while (peek() !== '}') {
      next();
      const key = next();
      expect('=');
      entries[key] = value();
    }
    next();
    return entries;
  }
  function metadata(): Record<string, unknown> {
    const entries: Record<string, unknown> = {};
    if (peek() !== '(') return entries;
    next();
    while (peek() !== ')') {
      let key = next();
      if (key === 'prepend') key = next();
      expect('=');
      entries[key] = value();
    }
    next();
    return entries;
  }
  function body(head: Pick<UsdPrim, 'specifier' | 'type' | 'name' | 'metadata'>): UsdPrim {
    const properties = new Map<string, unknown>();
    const interpolations = new Map<string, unknown>();
    const children = new Map<string, UsdPrim>();
    const sets = new Map<string, Map<string, UsdPrim>>();
    while (peek() !== '}' && peek() !== undefined) {
      const token = next();
      if (token === 'def' || token === 'over') {
        const type = peek()!.startsWith('"') ? '' : next();
        const name = String(value());
        const given = metadata();
        expect('{');
        if (children.has(name)) throw new Error(`two prims ${name}`);
        children.set(name, body({ specifier: token, type, name, metadata: given }));
        expect('}');
      } else if (token === 'variantSet') {
        const name = String(value());
        expect('=');
        expect('{');
        const variants = new Map<string, UsdPrim>();
        while (peek() !== '}') {
          const variant = String(value());
          const given = metadata();
          expect('{');
          if (variants.has(variant)) throw new Error(`two variants ${variant}`);
          variants.set(variant, body({ specifier: 'variant', type: '', name: variant, metadata: given }));
          expect('}');
        }
        next();
        sets.set(name, variants);
      } else {
        if (token === 'uniform') next();
        const name = next();
        if (properties.has(name)) throw new Error(`two properties ${name}`);
        if (peek() === '=') {
          next();
          properties.set(name, value());
          const { interpolation } = metadata();
          if (interpolation !== undefined) interpolations.set(name, interpolation);
        } else properties.set(name, null);
      }
    }
    return { ...head, properties, interpolations, children, sets };
  }
  const given = metadata();
  const root = body({ specifier: 'def', type: '', name: '', metadata: {} });
  if (at !== tokens.length) throw new Error('text after the last prim');
  return { metadata: given, root };
}

/** The prim at a path such as `/Product/Materials`. */
export function findPrim({ root }: UsdLayer, path: string): UsdPrim {
  let prim = root;
  for (const name of path.split('/').filter(Boolean)) {
    const child = prim.children.get(name);
    if (!child) throw new Error(`no prim ${path}`);
    prim = child;
  }
  return prim;
}

/** Binding of every mesh with these selections: those on the product itself are stronger than those of a variant (LIVRPS). */
export function bindAll(layer: UsdLayer, selections: Readonly<Record<string, string>> = {}): Record<string, unknown> {
  const product = findPrim(layer, '/Product');
  const local = { ...(product.metadata.variants as Record<string, string> | undefined), ...selections };
  const chosen: Record<string, string> = { ...local };
  const sets = (product.metadata.variantSets ?? []) as string[];
  for (const set of sets) {
    const variant = product.sets.get(set)!.get(chosen[set]!);
    for (const [other, name] of Object.entries((variant?.metadata.variants ?? {}) as Record<string, string>))
      chosen[other] ??= name;
  }
  const bound: Record<string, unknown> = {};
  for (const [name, prim] of product.children.get('Geometry')!.children)
    bound[name] = prim.properties.get('material:binding');
  for (const set of sets) {
    const overs =
      product.sets.get(set)!.get(chosen[set]!)?.children.get('Geometry')?.children ?? new Map<string, UsdPrim>();
    for (const [name, over] of overs) bound[name] ??= over.properties.get('material:binding');
  }
  return bound;
}

/** The surface of a material: constants, and for maps the path of the file with the output, such as `textures/1.png:rgb`. */
export function readSurface(layer: UsdLayer, path: string): Record<string, unknown> {
  const material = findPrim(layer, path);
  const read: Record<string, unknown> = {};
  for (const [name, value] of material.children.get('Surface')!.properties) {
    const input = /^inputs:(\w+)(\.connect)?$/.exec(name);
    if (!input) continue;
    const target = input[2] ? /^<(.+)\/(\w+)\.outputs:(\w+)>$/.exec(String(value))! : null;
    if (!target) read[input[1]!] = value;
    else {
      const shader = material.children.get(target[2]!)!;
      if (!shader.properties.has(`outputs:${target[3]}`)) throw new Error(`${value} is no output`);
      const file = shader.properties.get('inputs:file');
      read[input[1]!] =
        `${file === undefined ? shader.properties.get('inputs:varname') : String(file).slice(1, -1)}:${target[3]}`;
    }
  }
  return read;
}

export interface PackagedFile {
  readonly name: string;
  readonly method: number;
  readonly flags: number;
  readonly start: number;
  readonly bytes: Buffer;
}

/** The files of a package, read from one local header to the next, by APPNOTE.TXT 6.3.10 §4.3.7 of the zip format. */
export function readPackage(file: Buffer): PackagedFile[] {
  const files: PackagedFile[] = [];
  let at = 0;
  while (file.readUInt32LE(at) === 0x04034b50) {
    const nameBytes = file.readUInt16LE(at + 26);
    const start = at + 30 + nameBytes + file.readUInt16LE(at + 28);
    const length = file.readUInt32LE(at + 18);
    files.push({
      name: file.toString('utf8', at + 30, at + 30 + nameBytes),
      flags: file.readUInt16LE(at + 6),
      method: file.readUInt16LE(at + 8),
      start,
      bytes: file.subarray(start, start + length),
    });
    at = start + length;
  }
  return files;
}
