import type { Mix } from './graph.ts';
import type { Send } from './schema.ts';

/** Names of the buses that the rough reaches, by itself or through other buses; sends and buses that are off let nothing through. */
export const busesWithRough = ({ rough, buses }: Mix): string[] => {
  const targets = (sends: readonly Send[]): string[] => sends.filter(({ on }) => on).map(({ to }) => to);
  const reached = new Set(targets(rough?.sends ?? []));
  for (const id of reached) {
    const bus = buses.find((each) => each.id === id);
    if (bus?.on) for (const to of targets(bus.sends)) reached.add(to);
  }
  return buses.filter(({ id, on }) => on && reached.has(id)).map(({ name }) => name);
};

/** The sentence that is said of a mix with the rough in it; null: there is nothing to say. */
export const roughWords = (mix: Mix): string | null => {
  const names = busesWithRough(mix);
  if (names.length === 0) return null;
  const buses = `${names.length === 1 ? 'The bus' : 'The buses'} ${names.map((name) => `"${name}"`).join(', ')}`;
  return `${buses} ${names.length === 1 ? 'contains' : 'contain'} the rough mix, with all that is in it.`;
};
