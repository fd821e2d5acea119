import { formatFloat, formatTuple } from '../../usd/usda-text.ts';
import type { Placement, Surface, SurfaceInput } from './plan-surface.ts';

/** The path of a map's file in the package, or null where no image could be read. */
export type FindFile = (map: NonNullable<SurfaceInput['map']>) => string | null;
/** The name of the primvar that holds the UVs of a placement. */
export type FindPrimvar = (placement: Placement) => string;

/** Components of a texture's output. */
const OUTPUT = { rgb: 'float3', r: 'float', g: 'float', b: 'float', a: 'float' } as const;

/**
 * The lines of a material with its preview surface, textures and readers of UVs.
 * @param path of the prim
 */
export function writeSurfacePrim(
  surface: Surface,
  path: string,
  name: string,
  findFile: FindFile,
  findPrimvar: FindPrimvar,
): string[] {
  const readers = new Map<string, string[]>();
  const textures = new Map<
    string,
    { readonly name: string; readonly lines: string[]; readonly outputs: Set<string> }
  >();
  const inputs = ['int inputs:useSpecularWorkflow = 0'];
  for (const input of surface.inputs) {
    const at = `${input.type} inputs:${input.name}`;
    if (input.name === 'useSpecularWorkflow') {
      inputs[0] = `${at} = ${input.value}`;
      continue;
    }
    if (input.vertexColours) {
      readers.set('displayColor', [
        'uniform token info:id = "UsdPrimvarReader_float3"',
        `float3 inputs:fallback = ${formatTuple(input.value as readonly number[])}`,
        'string inputs:varname = "displayColor"',
        'float3 outputs:result',
      ]);
      inputs.push(`${at}.connect = <${path}/Reader_displayColor.outputs:result>`);
      continue;
    }
    const file = input.map ? findFile(input.map) : null;
    if (!input.map || file === null) {
      if (input.value !== null) inputs.push(`${at} = ${formatValue(input.value)}`);
      continue;
    }
    const { channel, placement, wrap, recipe } = input.map;
    const primvar = findPrimvar(placement);
    readers.set(primvar, [
      'uniform token info:id = "UsdPrimvarReader_float2"',
      // a part without UVs shows the corner of the map that glTF calls 0, 0
      'float2 inputs:fallback = (0, 1)',
      `string inputs:varname = "${primvar}"`,
      'float2 outputs:result',
    ]);
    const key = JSON.stringify([file, primvar, wrap, recipe.kind]);
    let texture = textures.get(key);
    if (!texture) {
      texture = {
        name: `Map_${textures.size + 1}`,
        lines: [
          'uniform token info:id = "UsdUVTexture"',
          `asset inputs:file = @${file}@`,
          ...(recipe.kind === 'normal'
            ? ['float4 inputs:scale = (2, 2, 2, 1)', 'float4 inputs:bias = (-1, -1, -1, 0)']
            : []),
          `token inputs:sourceColorSpace = "${recipe.kind === 'colour' ? 'sRGB' : 'raw'}"`,
          `float2 inputs:st.connect = <${path}/Reader_${primvar}.outputs:result>`,
          `token inputs:wrapS = "${wrap[0]}"`,
          `token inputs:wrapT = "${wrap[1]}"`,
        ],
        outputs: new Set(),
      };
      textures.set(key, texture);
    }
    texture.outputs.add(channel);
    inputs.push(`${at}.connect = <${path}/${texture.name}.outputs:${channel}>`);
  }
  return [
    `def Material "${name}"`,
    '{',
    `    token outputs:surface.connect = <${path}/Surface.outputs:surface>`,
    '',
    ...shader('Surface', ['uniform token info:id = "UsdPreviewSurface"', ...inputs, 'token outputs:surface']),
    ...[...readers].flatMap(([primvar, lines]) => shader(`Reader_${primvar}`, lines)),
    ...[...textures.values()].flatMap(({ name: texture, lines, outputs }) =>
      shader(texture, [...lines, ...[...outputs].map((output) => `${OUTPUT[output as 'rgb']} outputs:${output}`)]),
    ),
    '}',
  ];
}

function shader(name: string, lines: readonly string[]): string[] {
  return [`    def Shader "${name}"`, '    {', ...lines.map((line) => `        ${line}`), '    }'];
}

const formatValue = (value: number | readonly number[]) =>
  typeof value === 'number' ? formatFloat(value) : formatTuple(value);
