// Corners of triangles that are the same in everything become one, so that each is placed and lit once.

import { BufferGeometry, Float32BufferAttribute, Uint32BufferAttribute } from "three";

/** A geometry of loose triangles as one with an index; one that has an index stays as it is. */
export function welded(loose: BufferGeometry): BufferGeometry {
  if (loose.index) return loose;
  const names = Object.keys(loose.attributes);
  const given = names.map((name) => loose.getAttribute(name));
  const count = given[0]?.count ?? 0;
  const width = given.reduce((sum, { itemSize }) => sum + itemSize, 0);
  const rows = new Float32Array(count * width);
  let from = 0;
  for (const { array, itemSize } of given) {
    for (let i = 0; i < count; i++) for (let k = 0; k < itemSize; k++) rows[i * width + from + k] = (array[i * itemSize + k] as number) + 0;
    from += itemSize;
  }
  const bits = new Uint32Array(rows.buffer);
  const room = 2 ** Math.ceil(Math.log2(2 * count + 2));
  const held = new Int32Array(room).fill(-1);
  const kept: number[] = [];
  const index = new Uint32Array(count);
  const same = (a: number, b: number): boolean => {
    for (let k = 0; k < width; k++) if (bits[a * width + k] !== bits[b * width + k]) return false;
    return true;
  };
  for (let i = 0; i < count; i++) {
    let key = 17;
    for (let k = 0; k < width; k++) key = Math.imul(key ^ (bits[i * width + k] as number), 0x9e3779b1) ^ (key >>> 15);
    let at = (key ^ (key >>> 13)) & (room - 1);
    while (held[at] !== -1 && !same(kept[held[at] as number] as number, i)) at = (at + 1) & (room - 1);
    if (held[at] === -1) {
      held[at] = kept.length;
      kept.push(i);
    }
    index[i] = held[at] as number;
  }
  const made = new BufferGeometry().setIndex(new Uint32BufferAttribute(index, 1));
  given.forEach(({ array, itemSize }, number) => {
    const values = kept.flatMap((i) => Array.from(array.slice(i * itemSize, (i + 1) * itemSize)));
    made.setAttribute(names[number] as string, new Float32BufferAttribute(values, itemSize));
  });
  return made;
}
