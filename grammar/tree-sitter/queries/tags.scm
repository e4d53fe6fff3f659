; An outline: every entry by its kind and name.
(entry name: (_) @name) @definition.class
(item name: (_) @name) @reference.class
