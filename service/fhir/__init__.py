"""How does Stanchion speak FHIR R4?"""
