/** Licences that Dyeworks may ship. All of them allow redistribution under our own licence, with a notice. */
const ALLOWED: ReadonlySet<string> = new Set([
  '0BSD',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'CC0-1.0',
  'ISC',
  'MIT',
  'OFL-1.1',
  'Python-2.0',
  'Unlicense',
  'Zlib',
]);

/** The LGPL requires that users can replace the library. They can: sharp loads libvips as a separate shared library. */
const ALLOWED_FOR: readonly { readonly licence: string; readonly packages: RegExp }[] = [
  { licence: 'LGPL-3.0-or-later', packages: /^@img\/sharp-/ },
];

/**
 * Whether a package may be shipped under an SPDX expression, such as `(MIT OR GPL-3.0) AND ISC`. Pure.
 * A package without a licence may not.
 */
export function isAllowed(name: string, expression: string | undefined): boolean {
  const tokens = expression?.match(/[()]|[^\s()]+/g) ?? [];
  let at = 0;
  const readSome = (): boolean => {
    let allowed = readAll();
    while (tokens[at] === 'OR') {
      at++;
      const next = readAll();
      allowed = allowed || next;
    }
    return allowed;
  };
  const readAll = (): boolean => {
    let allowed = readOne();
    while (tokens[at] === 'AND') {
      at++;
      const next = readOne();
      allowed = allowed && next;
    }
    return allowed;
  };
  const readOne = (): boolean => {
    const token = tokens[at++];
    if (token === undefined) return false;
    if (token !== '(') {
      return (
        ALLOWED.has(token) || ALLOWED_FOR.some(({ licence, packages }) => licence === token && packages.test(name))
      );
    }
    const inner = readSome();
    return tokens[at++] === ')' && inner;
  };
  return tokens.length > 0 && readSome() && at === tokens.length;
}

/** A third-party part inside a package, with its own licence and holder. */
interface CarriedPart {
  readonly name: string;
  /** Beginning of its path below `node_modules`. */
  readonly path: string;
  readonly licence: string;
  readonly holder: string;
  readonly address: string;
}

/** three has copies of other projects' decoders in this folder. The list must have each one that is bundled. */
export const CARRYING_FOLDER = 'three/examples/jsm/libs/';

export const CARRIED_PARTS: readonly CarriedPart[] = [
  {
    name: 'Draco decoder',
    path: `${CARRYING_FOLDER}draco/`,
    licence: 'Apache-2.0',
    holder: 'The Draco Authors',
    address: 'https://github.com/google/draco',
  },
  {
    name: 'Basis Universal transcoder',
    path: `${CARRYING_FOLDER}basis/`,
    licence: 'Apache-2.0',
    holder: 'Binomial LLC',
    address: 'https://github.com/BinomialLLC/basis_universal',
  },
  {
    name: 'meshoptimizer decoder',
    path: `${CARRYING_FOLDER}meshopt_decoder`,
    licence: 'MIT',
    holder: 'Copyright (c) 2016-2026 Arseny Kapoulkine',
    address: 'https://github.com/zeux/meshoptimizer',
  },
  {
    name: 'ktx-parse',
    path: `${CARRYING_FOLDER}ktx-parse`,
    licence: 'MIT',
    holder: 'Copyright (c) 2020 Don McCurdy',
    address: 'https://github.com/donmccurdy/KTX-Parse',
  },
  {
    name: 'zstddec (with the Zstandard decoder)',
    path: `${CARRYING_FOLDER}zstddec`,
    licence: 'MIT AND BSD-3-Clause',
    holder: 'Copyright (c) 2020 Don McCurdy; Zstandard: Copyright (c) Meta Platforms, Inc. and affiliates',
    address: 'https://github.com/donmccurdy/zstddec',
  },
];
