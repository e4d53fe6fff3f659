(entry) @fold
(line items: (items)) @fold
