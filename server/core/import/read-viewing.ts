import type { ViewingDefaults } from './measured-row.ts';

/**
 * The spellings of illuminant, observer and geometry that files of the trade use, in ours: “2 degree”, `2_Degree` and 2°
 * are `2deg`; `Specular_Included`, SCI and d/8:i are `di:8`; 0/45 is `45:0`. `2_Degree` and `Specular_Included` are of the
 * CxF3 schema; 0/45, 45/0 and “sphere (specular included or excluded)” are the standard's own words for CGATS's
 * MEASUREMENT_GEOMETRY, beside which it wants the kind of measurement and the aperture (Little CMS, `cmscgats.c`); the
 * others are common practice. What is not known stays as it is, and is refused with the colour; a sphere (d/8) that does
 * not say whether the reflection is in says too little, and stays too. So does a measurement in transmission.
 */
export function tidyViewing(said: ViewingDefaults, defaults: ViewingDefaults): ViewingDefaults {
  const illuminant = said.illuminant ? tidyIlluminant(said.illuminant) : defaults.illuminant;
  const observer = said.observer ? tidyObserver(said.observer) : defaults.observer;
  const geometry = said.geometry ? tidyGeometry(said.geometry, defaults.geometry) : defaults.geometry;
  return {
    ...(illuminant !== undefined && { illuminant }),
    ...(observer !== undefined && { observer }),
    ...(geometry !== undefined && { geometry }),
  };
}

function tidyIlluminant(text: string): string {
  const [, number] = /^(?:cie\s*)?d[ _-]?(\d\d)(?:00)?$/i.exec(text.trim()) ?? [];
  return number ? `D${number}` : text.trim();
}

function tidyObserver(text: string): string {
  const [, degrees] = /^(2|10)(?:\.0)?[ _]*(?:°|deg|degrees?|grad)?$/i.exec(text.trim()) ?? [];
  if (degrees) return `${degrees}deg`;
  if (/1931/.test(text)) return '2deg';
  return /1964/.test(text) ? '10deg' : text.trim();
}

const SPHERE = 'd:8';

function tidyGeometry(text: string, otherwise: string | undefined): string {
  const plain = text.toLowerCase().replace(/[\s°]/g, '').replaceAll('/', ':');
  if (/transmission|transmissive/.test(plain)) return text.trim();
  if (/(?<![\d.])(45[acx]?:0|0:45[acx]?)(?![\d.])/.test(plain)) return '45:0';
  if (/specular_?included|sci|rspin|^di:8$|^8:di$|^d:8:?i$/.test(plain)) return 'di:8';
  if (/specular_?excluded|sce|rspex|^de:8$|^8:de$|^d:8:?e$/.test(plain)) return 'de:8';
  // a sphere that does not say which is what the caller says it is
  if (/^(d:8|8:d|d:0|0:d)$/.test(plain)) return otherwise ?? SPHERE;
  return text.trim();
}
