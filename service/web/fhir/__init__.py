"""How is the FHIR R4 interface reached, under ``/fhir/R4``?"""
