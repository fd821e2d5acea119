import type { DeliveryManifest } from './delivery.ts';
import type { Feed, FeedItem } from './shop-feed.ts';

// The shop data in the terms of schema.org.

/** A text, and its translations as language-tagged strings (JSON-LD 1.1, section 4.2.4). */
function inLanguages(text: string, names: Readonly<Record<string, string>>) {
  const others = Object.entries(names).map(([language, value]) => ({ '@value': value, '@language': language }));
  return others.length === 0 ? text : [text, ...others];
}

/**
 * The property for a GTIN, and its digits: the form that the number was given out in. Fourteen digits with zeros in front are a
 * shorter number that was filled up (GS1 General Specifications, “GTINs in databases”).
 */
export function stateGtin(gtin: string): Readonly<Record<string, string>> {
  const zeros = /^0*/.exec(gtin)![0].length;
  const length = zeros >= 6 ? 8 : zeros >= 2 ? 12 : zeros >= 1 ? 13 : 14;
  return { [`gtin${length}`]: gtin.slice(-length) };
}

/** The group without its variants. */
export function describeGroup(
  { product, productName }: Pick<DeliveryManifest, 'product' | 'productName'>,
  { slots }: Pick<Feed, 'slots'>,
  delivery: string,
) {
  return {
    '@context': 'https://schema.org',
    '@type': 'ProductGroup',
    '@id': delivery,
    productGroupID: product,
    name: productName,
    variesBy: [
      'https://schema.org/color',
      'https://schema.org/material',
      ...slots.map(({ slot, label }) => ({ '@type': 'PropertyValue', propertyID: slot, name: label })),
    ],
  };
}

/** A member of the group. Only that it is discontinued is known of its availability. */
export function describeVariant(item: FeedItem, delivery: string) {
  const list = (texts: readonly string[]) => [...new Set(texts)].join(' / ');
  const colour = list(item.choices.map(({ name }) => name));
  const material = list(item.choices.flatMap(({ material }) => material ?? []));
  return {
    '@type': 'Product',
    '@id': `${delivery}#${encodeURIComponent(item.variant)}`,
    ...(item.sku !== null && { sku: item.sku }),
    ...(item.gtin !== null && stateGtin(item.gtin)),
    name: inLanguages(item.name, item.names),
    ...(colour !== '' && { color: colour }),
    ...(material !== '' && { material }),
    ...(item.pictures.length > 0 && { image: item.pictures }),
    ...(item.files.length > 0 && {
      subjectOf: {
        '@type': '3DModel',
        encoding: item.files.map(({ url, mediaType }) => ({
          '@type': 'MediaObject',
          contentUrl: url,
          encodingFormat: mediaType,
        })),
      },
    }),
    additionalProperty: [
      ...item.choices.map(({ slot, label, finish, name, names }) => ({
        '@type': 'PropertyValue',
        propertyID: slot,
        name: label,
        value: name,
        valueReference: { '@type': 'DefinedTerm', termCode: finish, name: inLanguages(name, names) },
      })),
      ...(item.grade === null
        ? []
        : [{ '@type': 'PropertyValue', propertyID: 'price-grade', name: 'Price grade', value: item.grade }]),
    ],
    ...(item.status === 'discontinued' && {
      offers: { '@type': 'Offer', availability: 'https://schema.org/Discontinued' },
    }),
  };
}
