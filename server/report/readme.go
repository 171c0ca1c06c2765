package report

// ReadMe goes with every pack.
const ReadMe = `A record pack of tidemark

record-pack-1.pdf     for people; further volumes follow it
csv/KIND.csv          the same records as tables, one for each kind; UTF-8, for any spreadsheet
records.jsonl         the records as they are stored, one JSON object a line
sealed.jsonl          names and free text that the records commit to, with their salts;
                      what was removed since shows the day
inclusion.txt         proof that these records are in the ledger
checkpoint.txt        size and root of the ledger, signed
keys.txt              public keys of the ledger, the oldest first
key-changes.txt       by what each key let the next one sign, signed by both
manifest.txt          hash and length of every file, signed

To check it: tidemark verify NAME.zip -key KEY, with any key of this ledger that you hold,
however old; without one the pack's own is believed.
It shows that these records are, unchanged, those of the ledger that signed. Compare the
key, and the size and root on any print or mail of that time, with what you have from
elsewhere: whoever owns both the folder and its keys could write everything anew. It does
not show that a record is true, or that a pack was sterile.

Made again at the same size, a pack is the same byte for byte, unless something was removed
since or the ledger signs with a new key. What was removed there is still in this copy: keep
it and pass it on with care.

The IFU, local policy, local codes and licensed practice come first.
`
