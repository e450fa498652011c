// Numbers of the zip format. Source: APPNOTE.TXT, ZIP File Format Specification, version 6.3.10 (PKWARE), sections 4.3 to 4.5; from memory.

export const LOCAL = 0x04034b50;
export const CENTRAL = 0x02014b50;
export const END = 0x06054b50;
export const END_64 = 0x06064b50;
export const LOCATOR_64 = 0x07064b50;

/** Fixed-length bytes of each record. */
export const LOCAL_BYTES = 30;
export const CENTRAL_BYTES = 46;
export const END_BYTES = 22;
export const END_64_BYTES = 56;
export const LOCATOR_64_BYTES = 20;

/** Placeholder in a field that is too small for its value; the 64 bit value is then in the extra field. */
export const ELSEWHERE_32 = 0xffffffff;
export const ELSEWHERE_16 = 0xffff;

/** Id of the extra field with 64 bit sizes and offsets. */
export const EXTRA_64 = 0x0001;

/** Flags of an entry: its content is encrypted; its name is UTF-8. */
export const ENCRYPTED = 0x0001;
export const UTF_8 = 0x0800;

export const STORED = 0;
export const DEFLATED = 8;
