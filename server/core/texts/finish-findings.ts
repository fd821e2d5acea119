import { count, formatMm, formatPercent, pick } from './format-text.ts';

type MapUse = string;

/**
 * Messages of the findings on finishes, their maps, and their look on a product, by code; a colon separates the code
 * from the case.
 */
export const FINISH_FINDINGS = {
  // colour and gloss against the specification
  'out-of-gamut': ({
    finish,
    hex,
    deltaE,
  }: {
    readonly finish: string;
    readonly hex: string;
    readonly deltaE: number;
  }) =>
    `The specified colour of ${finish} lies outside sRGB. The nearest colour that can be shown is ${hex}, ΔE00 ${deltaE.toFixed(1)} away.`,
  'colour-estimated': ({
    finish,
    typicalDeltaE,
    worstDeltaE,
  }: {
    readonly finish: string;
    readonly typicalDeltaE: number;
    readonly worstDeltaE: number;
  }) =>
    `${finish} was measured for the 10° observer. Screens and glTF use the 2° observer, for which the colour is estimated from a smooth spectrum: usually within ΔE00 ${typicalDeltaE}, and within ${worstDeltaE} in 19 of 20 cases. Ask the supplier for the spectrum, or for D65/2°, to have it exact.`,
  'map-not-measured': ({ finish }: { readonly finish: string }) =>
    `The colour map of ${finish} cannot be measured, because it is a KTX2 image or cannot be read. The delivered colour is therefore unknown. Upload the map again as PNG, JPEG or WebP.`,
  'pattern-off-colour': ({
    finish,
    hex,
    deltaE,
  }: {
    readonly finish: string;
    readonly hex: string;
    readonly deltaE: number;
  }) =>
    `The colour map of ${finish} has too much contrast for so light a colour: its mean comes out as ${hex}, ΔE00 ${deltaE.toFixed(1)} from the specification. Upload a map with less contrast.`,
  'pattern-off-colour:map': ({
    finish,
    hex,
    deltaE,
  }: {
    readonly finish: string;
    readonly hex: string;
    readonly deltaE: number;
  }) =>
    `${finish} takes its colour from its map, whose mean is ${hex}, ΔE00 ${deltaE.toFixed(1)} from the specification. Take the colour from the specification to adjust the map, or remove the specified colour.`,
  'pattern-flattened': ({
    finish,
    contrast,
    clipped,
  }: {
    readonly finish: string;
    readonly contrast: number;
    readonly clipped: number;
  }) =>
    `${finish} is too light for the full contrast of its colour map: ${formatShare(contrast)} of the contrast is kept${clipped > 0 ? `, and ${formatShare(clipped)} of the texels are clipped to white` : ''}. Upload a map with less contrast to keep all of it.`,
  'pattern-flattened:detail': ({
    finish,
    slot,
    contrast,
  }: {
    readonly finish: string;
    readonly slot: string;
    readonly contrast: number;
  }) =>
    `${finish} is too light for the full contrast of the detail map of “${slot}”: ${formatPercent(contrast)} of the contrast is kept. Export a detail map with less contrast to keep all of it.`,
  'gloss-out-of-reach': ({ finish, reason }: { readonly finish: string; readonly reason: string }) =>
    `${finish}: ${reason}`,
  'gloss-not-read': ({ finish, reason }: { readonly finish: string; readonly reason: string }) =>
    `The gloss value of ${finish} cannot be converted to a roughness: ${reason}`,

  // plausibility
  'albedo-implausible': ({
    finish,
    code,
    strict,
    tolerant,
  }: {
    readonly finish: string;
    /** 8-bit sRGB code of its luminance. */
    readonly code: number;
    readonly strict: readonly [number, number];
    readonly tolerant: readonly [number, number];
  }) =>
    `The colour of ${finish} is as bright as the sRGB grey ${code} (of 255). Non-metals usually lie between ${strict[0]} and ${strict[1]}, and nearly always between ${tolerant[0]} and ${tolerant[1]}. ${
      code < strict[0]
        ? 'Darker ones show no form in shadow. Measure again without the surface reflection, or lighten the colour.'
        : 'Brighter ones reflect more light than fresh snow. Measure again against the white standard of the instrument, or darken the colour.'
    }`,
  'metal-too-dark': ({
    finish,
    reflectance,
    atLeast,
  }: {
    readonly finish: string;
    readonly reflectance: number;
    readonly atLeast: number;
  }) =>
    `${finish} is a metal that reflects ${formatPercent(reflectance)} of the light, but bare metals reflect at least ${formatPercent(atLeast)}. Dark metal has a coating. Take the colour from the table of metals and darken it by roughness, or make it a painted surface instead of a metal.`,
  'surface-implausible:metal-colour': ({
    finish,
    metal,
    source,
    deltaE,
    secondDeltaE,
  }: {
    readonly finish: string;
    readonly metal: string;
    readonly source: string;
    readonly deltaE: number;
    /** How far the table's second source is from the first. */
    readonly secondDeltaE: number | null;
  }) =>
    `The colour of ${finish} is ΔE00 ${deltaE.toFixed(1)} from ${metal} in the table of metals (${source}).${
      secondDeltaE === null ? '' : ` A second source is ΔE00 ${secondDeltaE.toFixed(1)} from the first.`
    } Use the colour of the table, or remove the metal name if this is an alloy or a tint.`,
  'surface-implausible:transparent-metal': ({ finish }: { readonly finish: string }) =>
    `${finish} is a metal that transmits light. Metals are opaque, and viewers ignore the transmission. Set the transmission to 0, or make it a non-metal.`,
  'surface-implausible:metal-specular': ({ finish }: { readonly finish: string }) =>
    `The specular strength of ${finish} has no effect, because the colour of a metal is its reflection. Remove it.`,
  'surface-implausible:metal-sheen': ({ finish }: { readonly finish: string }) =>
    `${finish} is a metal with a sheen. Sheen is light that fibres scatter, and metals have none. Remove the sheen, or make it a non-metal. Cloth with metal threads is cloth.`,
  'surface-implausible:coated-cloth': ({ finish }: { readonly finish: string }) =>
    `${finish} is a textile with a clear coat, which makes it look wet. Set the clear coat to 0. For oilcloth or coated fabric, choose the family plastic or leather.`,
  'surface-implausible:no-roughness': ({ finish }: { readonly finish: string }) =>
    `${finish} has a roughness of exactly 0. No surface is that smooth, and lamps make no highlight in it. Polished metal and glass have 0.02–0.07.`,
  'surface-implausible:opaque-volume': ({ finish }: { readonly finish: string }) =>
    `${finish} has a volume but transmits no light, so the volume is not delivered. Set the transmission above 0, or remove the volume.`,
  'surface-implausible:tinted-twice': ({
    finish,
    tint,
    through,
  }: {
    readonly finish: string;
    readonly tint: number;
    readonly through: number;
  }) =>
    `${finish} is tinted twice: its colour transmits ${formatPercent(tint)} of the light, and its volume ${formatPercent(through)} of that. Use white as the colour of a finish with a volume, unless the surface is stained.`,
  'surface-implausible:glass-index': ({
    finish,
    ior,
    least,
    most,
  }: {
    readonly finish: string;
    readonly ior: number;
    readonly least: number;
    readonly most: number;
  }) =>
    `${finish} is glass with an index of refraction of ${ior}. Glass has ${least}–${most}; window glass has 1.52. Correct the index.`,
  'surface-implausible:film': ({
    finish,
    leastNm,
    mostNm,
  }: {
    readonly finish: string;
    readonly leastNm: number;
    readonly mostNm: number;
  }) => `The film on ${finish} has a minimum thickness of ${leastNm} nm and a maximum of ${mostNm} nm. Swap the two.`,
  'surface-implausible:emission': ({ finish, family }: { readonly finish: string; readonly family: string }) =>
    `${finish} emits light, but finishes of the family ${family} do not. The light comes from the lamp behind them. Remove the emission, or choose glass or plastic for a diffuser.`,

  // maps
  'image-undecodable:finish-map': ({ finish, use }: { readonly finish: string; readonly use: MapUse }) =>
    `The ${use} map of ${finish} is damaged, so viewers could not show it. Upload the map again, and save the finish with the new one.`,
  'image-undecodable:not-measured': () =>
    'Dyeworks cannot measure this image, for example because it is KTX2. Neither its content nor its repeat was checked. Check them in the PNG it was made from.',
  'map-wrong-content:grey-normal': () =>
    'The image is grey, so it is a height map or a roughness map. Convert the height map to a tangent-space normal map with blue up, and upload that.',
  'map-wrong-content:not-normal': () =>
    'The image does not look like a normal map: its texels do not have unit length, or do not point out of the surface. Export it as a tangent-space map with blue up.',
  'map-wrong-content:is-normal': ({ use }: { readonly use: MapUse }) =>
    `The image looks like a normal map but is used as the ${use} map. Use it as the normal map, and upload the right ${use} map.`,
  'map-wrong-content:no-roughness': () =>
    'The green channel is 0 everywhere. glTF reads roughness from it, so the finish would be a mirror. Export the roughness to the green channel, or as a grey image.',
  'map-wrong-content:transparent': () =>
    'The image has transparent texels. A finish always covers its part, so the hidden colour of these texels would show. Flatten the image.',
  'texture-too-large:finish-map': ({
    widthPx,
    heightPx,
    limitPx,
  }: {
    readonly widthPx: number;
    readonly heightPx: number;
    readonly limitPx: number;
  }) =>
    `The image is ${widthPx} × ${heightPx} px. Every viewer shows images of up to ${limitPx} px a side. Make it smaller, or crop it to fewer repeats.`,
  'map-not-power-of-two': ({ widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number }) =>
    `The image is ${widthPx} × ${heightPx} px, and older viewers stretch repeating maps to powers of two. Export it with sides of 512, 1024 or 2048 px. The size of the repeat in mm stays the same.`,
  'map-not-tileable': ({
    edge,
    codes,
    ratio,
    isSure,
  }: {
    readonly edge: string;
    /** Step across the edges, 8-bit codes. */
    readonly codes: number;
    /** Times the difference between neighbours inside; null where these do not differ. */
    readonly ratio: number | null;
    readonly isSure: boolean;
  }) =>
    `The image ${isSure ? 'does not tile' : 'may not tile'}: its ${edge} edges differ by ${codes.toFixed(0)} of 255 levels where they meet, ${
      ratio === null
        ? 'while neighbouring texels inside the image do not differ'
        : `${ratio.toFixed(1)} times as much as neighbouring texels inside the image`
    }. ${
      isSure
        ? 'Every repeat would show as a line. Make it seamless, or crop it to one full repeat.'
        : 'The image has equally strong lines inside, so this may be a joint at the edge. Check two repeats side by side.'
    }`,
  'constant-map:finish-map': () =>
    'The image has the same value in every texel. A factor of the finish does the same without a map.',
  'map-profile': ({
    profile,
    outside,
  }: {
    readonly profile: string | null;
    /** Share of texels beyond sRGB; null where it is too small to mention. */
    readonly outside: number | null;
  }) =>
    `${profile === null ? 'The image has an unnamed colour profile' : `The image is in ${profile}`}. As a colour map it was converted to sRGB, and finishes use the converted file.${
      outside === null
        ? ''
        : ` ${formatPercent(outside)} of its texels are more vivid than sRGB can show; their colour was clipped.`
    }`,
  'map-profile:ignored': ({ profile, use }: { readonly profile: string | null; readonly use: MapUse }) =>
    `The image has ${describeProfile(profile)}. In a ${use} map the values are used unchanged, and the profile is ignored.`,
  'map-profile:unusable': ({ profile }: { readonly profile: string | null }) =>
    `The image has ${describeProfile(profile)} that does not fit it, so its values are read as sRGB. Convert the image to sRGB and upload it again.`,
  'map-depth': () =>
    'The image has 16 bits per channel. Colour maps of glTF have 8, so deliveries contain it rounded to 8 bits.',
  moire: ({
    finish,
    threadMm,
    threadPx,
    leastPx,
    times,
  }: {
    readonly finish: string;
    readonly threadMm: number;
    readonly threadPx: number;
    readonly leastPx: number;
    /** How many times as large the picture has to be. */
    readonly times: number;
  }) =>
    `A thread of ${finish} is ${threadMm.toFixed(2)} mm wide, which is ${threadPx.toFixed(2)} px in this picture. Below ${leastPx} px a weave causes moiré. Take the picture ${times.toFixed(1)} times as large, move the camera closer, or use a map without the weave for pictures of the whole product.`,

  // on the part
  'out-of-reach:detail': ({
    finish,
    wanted,
    slot,
    hex,
    deltaE,
  }: {
    readonly finish: string;
    readonly wanted: string;
    readonly slot: string;
    readonly hex: string;
    readonly deltaE: number;
  }) =>
    `The detail map of “${slot}” is too dark or varies too much for ${finish} (${wanted}): its mean on the part comes out as ${hex}, ΔE00 ${deltaE.toFixed(1)} away. Lighten the map, or set the slot not to keep its detail.`,
  'out-of-reach:wear': ({
    finish,
    roughness,
    slot,
    mean,
    factor,
  }: {
    readonly finish: string;
    readonly roughness: number;
    readonly slot: string;
    readonly mean: number;
    readonly factor: number;
  }) =>
    `${finish} has a roughness of ${roughness.toFixed(2)}, which is more than the roughness map of “${slot}” allows: its mean is ${mean.toFixed(3)}, and the factor would have to be ${factor.toFixed(2)}, but 1 is the maximum. The mean comes out as ${mean.toFixed(2)}. Lighten the green channel of the map, or set the slot not to keep its wear.`,
  'out-of-reach:supplied': ({ finish }: { readonly finish: string }) =>
    `${finish} was made lighter or rougher than the maps of its supplied material allow: its factors are at 1, the maximum. Choose a darker colour, or save the finish without the supplied material.`,
  'wear-dropped': ({ finish, slot }: { readonly finish: string; readonly slot: string }) =>
    `${finish} is a metal, but the blue channel of the roughness map of “${slot}” says that not all of the part is metal. The map is not used, so the roughness is the same everywhere. Fill the blue channel to keep the wear under metals.`,
  'normals-not-combined': ({
    slot,
    finishes,
    keeps,
    reason,
  }: {
    readonly slot: string;
    readonly finishes: number;
    readonly keeps: 'part' | 'finish';
    readonly reason: CombineFailure;
  }) => {
    const { why, remedy } = describeCombineFailure(reason);
    return `The normal map of “${slot}” cannot be combined with ${pick(finishes, 'that of 1 finish', `those of ${finishes} finishes`)} on it, so ${keeps === 'part' ? 'the part’s own normal map is used' : 'the finish’s normal map is used'}: ${why}. ${remedy}`;
  },
  'missing-uv:finish-maps': ({ slot, finishes }: { readonly slot: string; readonly finishes: number }) =>
    `The parts of “${slot}” do not have the UVs that finishes use, so the maps of ${count(finishes, 'finish', 'finishes')} are left out there; only colour and gloss are shown. Export the part with UVs, or generate box UVs.`,
  'missing-uv:supplied': ({ slot, finishes }: { readonly slot: string; readonly finishes: readonly string[] }) =>
    `The parts of “${slot}” do not have the set of UVs that maps of ${finishes.length === 1 ? finishes[0] : `${finishes.length} finishes`} use, so those maps are left out there. Export the part with all UVs of the part that the finish comes from, or choose another finish.`,
  'missing-uv:own-maps': ({ slot, maps }: { readonly slot: string; readonly maps: readonly string[] }) =>
    `Parts of “${slot}” do not have the set of UVs that their own ${maps.join(' and ')} ${pick(maps.length, 'map uses', 'maps use')}, so finishes are delivered without ${pick(maps.length, 'it', 'them')} there. Export these parts with all their UVs.`,
  'finish-map-dropped': ({ slot, finishes }: { readonly slot: string; readonly finishes: number }) =>
    `“${slot}” keeps its own normal map or the alpha of its colour map, which replaces the same map of ${count(finishes, 'finish', 'finishes')}. Change what the slot keeps to show the finish’s map.`,
  'direction-missed': ({
    slot,
    finishes,
    degrees,
  }: {
    readonly slot: string;
    readonly finishes: number;
    readonly degrees: number;
  }) =>
    `A repeat that is not square can only be turned in steps of 90°. On “${slot}” the maps of ${count(finishes, 'finish', 'finishes')} are up to ${Math.round(degrees)}° off the direction asked for. Use a square repeat, or a direction of 0°, 90°, 180° or 270°.`,
  'anisotropy-dropped': ({ slot, finishes }: { readonly slot: string; readonly finishes: number }) =>
    `On “${slot}”, the highlight of ${pick(finishes, 'a finish', `${finishes} finishes`)} does not follow the brushing, because the parts have neither tangents nor a normal map. Export them with tangents, or give the finish a normal map of its brushing.`,
  'double-sided-body': ({ slot, finishes }: { readonly slot: string; readonly finishes: number }) =>
    `“${slot}” is marked double-sided, which does not apply to a volume that absorbs light. ${count(finishes, 'finish is', 'finishes are')} delivered single-sided there. A closed part looks the same. An open sheet loses its back: close it, or use a finish without a volume.`,
  'thickness-uneven': ({
    slot,
    meshes,
    finishes,
    lowM,
    highM,
  }: {
    readonly slot: string;
    readonly meshes: number;
    readonly finishes: number;
    readonly lowM: number;
    readonly highM: number;
  }) =>
    `${count(meshes, 'mesh', 'meshes')} of “${slot}” ${pick(meshes, 'is', 'are')} used by nodes of different scales, so the thickness of ${count(finishes, 'finish', 'finishes')} comes out between ${formatMm(lowM)} and ${formatMm(highM)}. Give each node a mesh of its own.`,
} as const;

function describeProfile(name: string | null): string {
  return name === null ? 'an unnamed colour profile' : `the colour profile “${name}”`;
}

/** Why normal maps of part and finish cannot be combined. */
type CombineFailure =
  | { readonly why: 'too-fine'; readonly neededPx: number; readonly limitPx: number }
  | {
      readonly why: 'beyond-square';
      readonly bounds: { readonly min: readonly [number, number]; readonly max: readonly [number, number] } | null;
    }
  | { readonly why: 'other-uv-set'; readonly texCoord: number }
  | { readonly why: 'unreadable'; readonly map: 'part' | 'finish' }
  | { readonly why: 'tangents-differ' };

function describeCombineFailure(reason: CombineFailure): { readonly why: string; readonly remedy: string } {
  switch (reason.why) {
    case 'too-fine':
      return {
        why: `a combined map would need ${reason.neededPx} px a side, and the maximum is ${reason.limitPx} px`,
        remedy:
          'Use a coarser normal map, use more of the UV space for the part, or choose which of the two maps the slot shows.',
      };
    case 'beyond-square':
      return {
        why: reason.bounds
          ? `the part’s UVs run from ${formatUv(reason.bounds.min)} to ${formatUv(reason.bounds.max)}, and the maps do not repeat with them`
          : 'the part’s UVs cannot be read',
        remedy: 'Export the part with UVs between 0 and 1, or choose which of the two maps the slot shows.',
      };
    case 'other-uv-set':
      return {
        why: 'the part’s map uses another set of UVs than the finish’s',
        remedy: `Export the part with its normal map on TEXCOORD_${reason.texCoord}, or choose which of the two maps the slot shows.`,
      };
    case 'unreadable':
      return {
        why: `the ${reason.map}’s map cannot be read, because it is KTX2 or damaged`,
        remedy: `Give the ${reason.map} a normal map as PNG, or choose which of the two maps the slot shows.`,
      };
    case 'tangents-differ':
      return {
        why: 'the part’s map is rotated, and only some of its primitives have tangents',
        remedy: 'Export all of them with tangents, or none, or choose which of the two maps the slot shows.',
      };
  }
}

const formatUv = (uv: readonly [number, number]) => `(${uv.map((value) => Number(value.toFixed(2))).join(', ')})`;

/** A share in per cent, to a tenth below one per cent. */
function formatShare(share: number): string {
  return `${share < 0.01 ? (share * 100).toFixed(1) : Math.round(share * 100)} %`;
}
