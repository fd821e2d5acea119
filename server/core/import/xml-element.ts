/** An element of a parsed XML document; names are without their prefix. */
export interface XmlElement {
  readonly name: string;
  /** Of the element, by its prefix; empty when it has none. */
  readonly namespace: string;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: readonly XmlElement[];
  /** Its own text, of all pieces together, without white space around it. */
  readonly text: string;
  /** From 1. */
  readonly line: number;
}

/** Descends by names, taking the first of each; undefined where one is missing. */
export function findElement(from: XmlElement | undefined, ...names: readonly string[]): XmlElement | undefined {
  return names.reduce<XmlElement | undefined>(
    (element, name) => element?.children.find((child) => child.name === name),
    from,
  );
}
