/** A CRC over bytes: polynomial without the highest power, highest bit first, start value 0. */
const checkOf = (bits: 8 | 16, polynomial: number): ((bytes: Uint8Array) => number) => {
  const top = 1 << (bits - 1);
  const mask = 2 ** bits - 1;
  const table = Uint16Array.from({ length: 256 }, (_, byte) => {
    let value = byte << (bits - 8);
    for (let bit = 0; bit < 8; bit++) value = value & top ? (value << 1) ^ polynomial : value << 1;
    return value & mask;
  });
  return (bytes) => {
    let value = 0;
    for (const byte of bytes) value = ((value << 8) ^ table[((value >> (bits - 8)) ^ byte) & 0xff]!) & mask;
    return value;
  };
};

/** Of the head of a FLAC frame: x^8 + x^2 + x + 1 (RFC 9639, section 9.1.8). */
export const crc8 = checkOf(8, 0x07);
/** Of a whole FLAC frame: x^16 + x^15 + x^2 + 1 (RFC 9639, section 9.3). */
export const crc16 = checkOf(16, 0x8005);
