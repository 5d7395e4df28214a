"""The file of a product: what a phone has gathered of it, set on paper and put beside its records.

The phone says what stands in it, in words and in her units; here it is checked, set and packed.
"""
